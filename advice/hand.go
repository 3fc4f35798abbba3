package advice

import (
	g "threshline/grading"
	"threshline/grading/byhand"
)

// Hand is the advice on a lot that was only counted by hand.
type Hand struct {
	// Best is the one remedy most worth doing over all that the lot may be; its Remedy
	// is "" where nothing is worth it. Gain, KGLost and the like are means. Stops says
	// that it is for what was seen or smelt: nothing else is then said of the lot.
	Best  Option
	Stops bool
	// Better is the grade that the lot then has or betters with Chance, and Now is the
	// chance that it has it already; "" where the remedy changes no grade. They are of
	// the lot once it is dry where its water is not known.
	Better      g.GradeLabel
	BetterRank  int
	Chance, Now float64
	// Useful is the chance that a full check would advise the remedy too.
	Useful float64
}

// surelyUseful is the least chance that a full check would advise a remedy too, for
// which it is advised by hand. Source: our choice, [ASSUMED-HAND].
const surelyUseful = 0.9

// ByHand advises on a lot that may be what a check by hand lets it be. Signs stop
// everything, and a lot found too wet is dried first. Otherwise each lot that it may be is
// advised on as after a full check, and the remedy is taken whose gain over all of
// them is the largest, of those that a full check would seldom call useless.
func ByHand(c Case, likely *byhand.Likely) Hand {
	c.Result = g.Result{}
	if seen := Advise(c); seen.Best.Band == SafetyBand || seen.Best.Band == SpoilBand {
		return Hand{Best: seen.Best, Stops: seen.Best.Band == SafetyBand, Useful: 1}
	}
	var v Adviser
	sums := map[RemedyID]*Hand{}
	share := 1 / float64(len(likely.Lots))
	for i := range likely.Lots {
		c.Readings, c.Result = likely.Lots[i], g.Result{}
		if v.Assess(&c) != nil {
			return Hand{}
		}
		for _, o := range v.Advise(&c).Considered {
			if !o.Remedy.changes() {
				continue
			}
			sum := sums[o.Remedy]
			if sum == nil {
				sum = &Hand{Best: o}
				sum.Best.Gain, sum.Best.KGLost, sum.Best.Cost = 0, 0, 0
				sums[o.Remedy] = sum
			}
			sum.Best.Gain += share * o.Gain
			sum.Best.KGLost += share * o.KGLost
			sum.Best.Cost += share * o.Cost
			if o.useful() {
				sum.Useful += share
			}
		}
	}
	var best Hand
	for i := range thisLot {
		if sum := sums[thisLot[i].ID]; sum != nil && sum.Useful >= surelyUseful && sum.Best.Gain > best.Best.Gain {
			best = *sum
		}
	}
	best.outcome(c.Standard, likely)
	return best
}

// changes reports whether a remedy changes this lot.
func (id RemedyID) changes() bool {
	rem := RemedyOf(id)
	return rem.When == ThisLot && rem.Changes()
}

// useful reports whether a full check found something in the remedy.
func (o *Option) useful() bool {
	switch o.Reason {
	case Mends, WillSpoil, Dearer, LessGain, StepOfSet:
		return true
	}
	return false
}

// outcome works out the best grade that the lot likely has after the remedy.
func (h *Hand) outcome(s *g.Standard, likely *byhand.Likely) {
	if h.Best.Remedy == "" {
		return
	}
	e, share := g.NewEvaluator(s), 1/float64(len(likely.Lots))
	now, then := make([]float64, len(s.Grades)+2), make([]float64, len(s.Grades)+2)
	count := func(to []float64, r *g.Readings) {
		rank, err := e.Rank(r)
		if err != nil {
			rank = len(s.Grades) + 1
		}
		for i := min(rank, len(s.Grades)+1); i < len(to); i++ {
			to[i] += share
		}
	}
	for i := range likely.Lots {
		count(now, &likely.Lots[i])
		after, _, _ := After(s, likely.Lots[i], h.Best.Remedy)
		count(then, &after)
	}
	for rank := 1; rank <= len(s.Grades); rank++ {
		if then[rank] >= byhand.Enough {
			if then[rank] > now[rank] {
				h.Better, h.BetterRank, h.Chance, h.Now = s.Grades[rank-1].Label, rank, then[rank], now[rank]
			}
			return
		}
	}
}

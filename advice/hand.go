package advice

import (
	"slices"

	g "threshline/grading"
	"threshline/grading/byhand"
)

// Hand is the advice on a lot that was only counted by hand.
type Hand struct {
	// Best is the one remedy most worth doing over all that the lot may be; its Remedy
	// is "" where nothing is worth it. Gain, Cost and KGLost are means over these; what
	// it becomes is said below.
	Best Option
	// Stops says that something was seen or smelt: nothing but Best is then said of the
	// lot. Wet says that the lot was felt too wet, or read so: it is dried first.
	Stops, Wet bool
	// Better is the grade that the lot then has, or betters, with Chance; Now is the
	// chance that it does already. "" where that becomes no likelier. They are of the
	// dry lot, except that Now is of a lot felt too wet as it is.
	Better      g.GradeLabel
	BetterRank  int
	Chance, Now float64
	// Useful is the chance that a full check finds the remedy worth doing too.
	Useful float64
	// Try is what to try on a little of the lot where no remedy is sure, or drying is
	// seldom what a full check would advise; its Remedy is "" where there is none.
	Try Trial
}

// surelyUseful is the least chance that a full check finds a remedy worth doing, with
// which it is advised by hand: so that in all less than one of ten is useless. Source: our
// choice, [ASSUMED-HAND].
const surelyUseful = 0.7

// ByHand advises on a lot that may be all that a check by hand lets it be. Signs stop
// everything, and a lot found too wet is dried first. Otherwise every lot that it may
// be is advised on as after a full check. Of the remedies that a full check would
// seldom call useless, that one is taken whose gain is the largest over all of them; else
// one for the next season. Where there is none, one is tried on a little of the lot.
// Readings that cannot be give a zero Hand.
func ByHand(c Case, likely *byhand.Likely) Hand {
	c.Result = g.Result{}
	seen := Advise(c)
	if best := seen.Best; c.Readings.Signed() || best.Band == SpoilBand {
		h := Hand{Best: best, Stops: c.Readings.Signed(), Useful: 1}
		if h.Wet = RemedyOf(best.Remedy).Dries; h.Wet {
			h.becomes(c.Standard, upTo(likely.Chances), upTo(likely.OnceDry))
			if try := trialOf(c, likely); !c.Readings.Unlooked() && try.Remedy != best.Remedy { // a table that takes such water
				h.Try = try
			}
		}
		return h
	}
	h := mostWorth(c, likely)
	switch rem := RemedyOf(h.Best.Remedy); {
	case rem == nil && !c.Readings.Unlooked():
		h.Try = trialOf(c, likely)
	case rem == nil && c.Readings.Unlooked(): // what nobody looked at is not praised
		h.Best = seen.Considered[slices.IndexFunc(seen.Considered, func(o Option) bool { return o.Remedy == LookFirst })]
		h.Best.Reason = Unlooked
	case rem != nil && rem.When == ThisLot:
		now, then := ranksOf(c.Standard, likely, rem)
		h.becomes(c.Standard, now, then)
	}
	return h
}

// mostWorth weighs every remedy over the lots that were drawn.
func mostWorth(c Case, likely *byhand.Likely) (best Hand) {
	var v Adviser
	weighed := make([]Hand, len(table))
	share := 1 / float64(len(likely.Checks))
	left := 1 + share/2               // of the lots
	unsure := make(map[RemedyID]bool) // whatever the lots that are left
	for i := range likely.Checks {
		c.Readings, c.Result = likely.Checks[i], g.Result{}
		if v.Assess(&c) != nil {
			return Hand{}
		}
		full := v.weighAll(&c, func(rem *Remedy) bool { return unsure[rem.ID] })
		left -= share
		for j := range v.last.options {
			o, sum := &v.last.options[j], &weighed[j]
			if sum.Best.Remedy == "" {
				sum.Best = o.unweighed()
			}
			sum.Best.Gain += share * o.Gain
			sum.Best.Cost += share * o.Cost
			sum.Best.KGLost += share * o.KGLost
			if o.worthDoing() && (o.When == ThisLot || o.Remedy == full.Best.Remedy || o.Remedy == full.Season) {
				sum.Useful += share
			}
			if !table[j].acts() || sum.Useful+left < surelyUseful {
				unsure[o.Remedy] = true
			}
		}
		if len(unsure) == len(table) {
			return Hand{}
		}
	}
	for _, when := range [...]When{ThisLot, NextSeason} {
		for i := range weighed {
			sum := &weighed[i]
			if sum.Best.When == when && table[i].acts() && sum.Useful >= surelyUseful && c.sized(&table[i]) && sum.Best.Gain > best.Best.Gain {
				best = *sum
			}
		}
		if best.Best.Remedy != "" {
			break
		}
	}
	return best
}

// sized reports whether the lot's weight is known, or the remedy fits more than some
// bags: what nobody weighed is seldom so little.
func (c *Case) sized(rem *Remedy) bool {
	largest := c.Settings.Largest(rem)
	return c.KG > 0 || largest == 0 || largest >= mostByWind
}

// worthDoing reports whether a full check found the remedy worth doing, be it after
// another or in its place.
func (o *Option) worthDoing() bool {
	switch o.Reason {
	case Mends, WillSpoil, StepOfSet, Dearer, FixesCause, Recurs, LessGain:
		return true
	}
	return false
}

// ranksOf is the chance of each rank or a better one, over the lots that were drawn,
// as they are and after a remedy at its middle effect.
func ranksOf(s *g.Standard, likely *byhand.Likely, rem *Remedy) (now, then []float64) {
	e := g.NewEvaluator(s)
	now, then = make([]float64, len(s.Grades)), make([]float64, len(s.Grades))
	count := func(to []float64, r *g.Readings) {
		if rank, err := e.Rank(r); err == nil && rank <= len(to) {
			to[rank-1] += 1 / float64(len(likely.Lots))
		}
	}
	for i := range likely.Lots {
		count(now, &likely.Lots[i])
		after, _, _ := After(s, likely.Lots[i], rem.ID)
		count(then, &after)
	}
	return upTo(now), upTo(then)
}

// upTo sums chances by rank.
func upTo(chances []float64) []float64 {
	out := slices.Clone(chances)
	for i := 1; i < len(out); i++ {
		out[i] += out[i-1]
	}
	return out
}

// becomes finds the best grade that is likely enough then, and that is likelier than
// now.
func (h *Hand) becomes(s *g.Standard, now, then []float64) {
	for i := range s.Grades {
		if then[i] >= byhand.Enough {
			if then[i] > now[i] {
				h.Better, h.BetterRank, h.Chance, h.Now = s.Grades[i].Label, i+1, min(then[i], 1), now[i]
			}
			return
		}
	}
}

package byhand

import (
	"errors"
	"math"
	"slices"

	"threshline/grading"
	"threshline/grading/chance"
)

// ErrNotCounted says that the readings hold no check by hand.
var ErrNotCounted = errors.New("byhand: nothing was counted by hand")

// Options are what is known beside the counts.
type Options struct {
	// Usual is what lots of the place and season usually hold; empty takes the
	// assumed families.
	Usual map[grading.Field]chance.Usual
	// Bags are those of the lot; 0 unknown.
	Bags int
}

// Likely is what a check by hand lets a lot be.
type Likely struct {
	// Chances are by rank: of the grades, best first, then of out of grade. They sum
	// to 1. OnceDry is the same of the lot when its water meets every limit.
	Chances, OnceDry []float64
	// From to To is the shortest run of two ranks or more that holds Enough of the
	// chances, or the likelier of two ranks that are all there is; Chance is what it
	// holds. IfDry says that they are taken from OnceDry: water,
	// which hands cannot measure, would else spread them, or was found to be too much.
	From, To int
	Chance   float64
	IfDry    bool
	// Counts are what was counted, and the shares that it lets the lot have; Shares are
	// the standard's parameters, in its order.
	Counts []Count
	Shares []Share
	// Missing are required parameters of which neither counts nor what is usual say
	// anything: the lot is then no better than its ranks.
	Missing []grading.ParameterID
	// Clean is the chance that the lot is of the clean family.
	Clean float64
	// Few says that under FewGrains grains were counted: what is stated is mostly what
	// is usual.
	Few bool
	// Lots are drawn from what the lot may be, each as likely, with their exact shares.
	// Checks are the first of them as a full check would measure them. The water of
	// both is what a meter read, or else meets every limit, since hands do not know it.
	// Water is what that of each of Checks may be, % wet basis; empty where a meter read it.
	Lots, Checks []grading.Readings
	Water        []grading.Decimal
}

// Share is a parameter's value over all that the lot may be, in its unit.
type Share struct {
	Parameter       grading.ParameterID
	Mean, Deviation float64
	// Counted says that something was counted of it; else it is only what is usual.
	Counted bool
}

const (
	// Enough is the least chance that a run of grades is stated with. Source: our
	// choice, [ASSUMED-HAND].
	Enough = 2.0 / 3
	// FewGrains is the number of counted grains under which the counts say little. Source:
	// our choice, [ASSUMED-HAND]: 1 % of them is then less than half a grain.
	FewGrains = 50
	// waterMatters is the chance that water alone changes the grade, over which the
	// grades are stated for the dry lot. Source: our choice, [ASSUMED-HAND].
	waterMatters = 0.1
	// draws is how many lots are drawn, and checks how many of them Checks holds.
	draws, checks = 512, 80
)

// onlyWater is what a lot and the dry lot differ in.
var onlyWater = grading.SetOf(grading.Moisture)

// Assess says what a lot may be by its counts by hand, its signs of water and its
// class. Errors are ErrNotCounted, *grading.HandError and those of grading.Grade
// about the class.
func Assess(s *grading.Standard, r *grading.Readings, o Options) (Likely, error) {
	if !r.Hand.Made() {
		return Likely{}, ErrNotCounted
	}
	if fault, ok := r.Hand.Fault(); ok {
		return Likely{}, &grading.HandError{Fault: fault}
	}
	l := lotsFrom(r, o)
	grades := len(s.Grades)
	out := Likely{Chances: make([]float64, grades+1), OnceDry: make([]float64, grades+1), Clean: l.weights[0], Few: r.Hand.Grains < FewGrains, Lots: make([]grading.Readings, 0, draws)}
	e := grading.NewEvaluator(s)
	values, fields := make([]moments, len(s.Parameters)), make([]moments, len(shares))
	changed := 0
	for i := range draws {
		c := l.draw(i)
		lot := l.measured(&c, exact)
		dry := lot
		dry.Set(grading.Moisture, meetsEvery)
		onceDry, err := e.Rank(&dry)
		if err != nil {
			return Likely{}, err
		}
		rank, err := e.RankAgain(&lot, onlyWater, false)
		if err != nil {
			return Likely{}, err
		}
		if rank != onceDry {
			changed++
		}
		out.Chances[min(rank, grades+1)-1] += 1.0 / draws
		out.OnceDry[min(onceDry, grades+1)-1] += 1.0 / draws
		for p := range values {
			if f := e.Ranked(p); f.Measured {
				values[p].add(f.Value.Float())
			}
		}
		for j := range fields {
			fields[j].add(100 * c.share[j])
		}
		if out.Lots = append(out.Lots, l.known(dry)); i < checks {
			out.Checks = append(out.Checks, l.known(l.measured(&c, usual)))
			if water, ok := lot.Get(grading.Moisture); ok && len(r.Repeats) == 0 {
				out.Water = append(out.Water, water)
			}
		}
	}
	for j, f := range shares {
		if c := l.counted(f); c != nil {
			c.Mean, c.Deviation = fields[j].of()
			out.Counts = append(out.Counts, c.Count)
		}
	}
	out.parameters(s, r, values)
	out.IfDry = float64(changed) > waterMatters*draws
	out.From, out.To, out.Chance = shortest(out.stated())
	return out, nil
}

// parameters fills in the shares by parameter, and what nothing says anything of.
func (l *Likely) parameters(s *grading.Standard, r *grading.Readings, values []moments) {
	for i := range s.Parameters {
		p := &s.Parameters[i]
		switch water := isWater(p); {
		case water && len(r.Repeats) == 0:
		case values[i].n > 0:
			share := Share{Parameter: p.ID, Counted: water || countedIn(p, l.Counts)}
			share.Mean, share.Deviation = values[i].of()
			l.Shares = append(l.Shares, share)
		case p.Required:
			l.Missing = append(l.Missing, p.ID)
		}
	}
}

// moments gather a mean and a deviation.
type moments struct{ n, sum, squares float64 }

func (m *moments) add(v float64) { m.n, m.sum, m.squares = m.n+1, m.sum+v, m.squares+v*v }

func (m *moments) of() (mean, deviation float64) {
	mean = m.sum / m.n
	return mean, math.Sqrt(max(m.squares/m.n-mean*mean, 0))
}

// stated are the chances that the run of grades is taken from.
func (l *Likely) stated() []float64 {
	if l.IfDry {
		return l.OnceDry
	}
	return l.Chances
}

// OrBetter is the chance of a rank or a better one, of the lot as the run of grades
// is stated for.
func (l *Likely) OrBetter(rank int) (chance float64) {
	for i, c := range l.stated() {
		if i < rank {
			chance += c
		}
	}
	return chance
}

// MeanRank is the expected rank, by which lots can be put in order: out of grade
// counts as one after the last. It is of the lot as the run of grades is stated for.
func (l *Likely) MeanRank() (mean float64) {
	for i, c := range l.stated() {
		mean += c * float64(i+1)
	}
	return mean
}

// shortest is the shortest run of ranks that holds Enough, of several the likeliest.
// One rank alone would sound surer than hands are.
func shortest(chances []float64) (from, to int, chance float64) {
	for length := min(2, len(chances)-1); length <= len(chances); length++ {
		for first := 0; first+length <= len(chances); first++ {
			sum := 0.0
			for _, c := range chances[first : first+length] {
				sum += c
			}
			if sum > chance {
				from, to, chance = first+1, first+length, sum
			}
		}
		if chance >= Enough {
			break
		}
	}
	return from, to, min(chance, 1)
}

// isWater reports whether a parameter is the moisture.
func isWater(p *grading.Parameter) bool {
	return len(p.Terms) == 1 && p.Terms[0].Kind == grading.MeanOf
}

// countedIn reports whether one of the counts says something of the parameter.
func countedIn(p *grading.Parameter, counts []Count) bool {
	for i := range p.Terms {
		for j := range counts {
			if slices.Contains(p.Terms[i].Fields, counts[j].Field) {
				return true
			}
		}
	}
	return false
}

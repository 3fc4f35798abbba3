package chance

import (
	"math"

	"threshline/grading"
)

// clearSteps is how many steps of the scale must fit between two limits for
// the scale to tell the grades apart. Source: assumed; it makes a 0.1 g
// scale need 100 g to prove a limit of 0.5 %, and 20 g need a step of 0.02 g.
const clearSteps = 5

// Coarse is a parameter whose grades a scale cannot tell apart on a sample.
type Coarse struct {
	Parameter grading.ParameterID
	// Step is what one step of the scale is on the sample, and Gap the
	// smallest distance between two of the parameter's limits (or from none to
	// the first); both in % of the whole.
	Step, Gap float64
	// NeedGrams is the sample, g of paddy, at which the step would be fine
	// enough, rounded up to 10 g.
	NeedGrams grading.Decimal
}

// huskedShare is the brown rice in paddy, as a fraction of its weight, to turn
// grams of brown rice into grams of sample. Source: [IRRI-MILL], 20 % husk.
const huskedShare = 0.80

// TooCoarse lists the parameters made from weights that a scale of that step
// cannot grade on a sample of that weight (both g), with the sample that would
// do. The class chooses the limits of a standard that has classes, "" for its
// default. A step or weight of zero or less gives nothing: the step is then
// unknown.
func TooCoarse(s *grading.Standard, class string, sample, step grading.Decimal) []Coarse {
	if sample <= 0 || step <= 0 {
		return nil
	}
	if class == "" {
		class = s.DefaultClass
	}
	var out []Coarse
	for i := range s.Parameters {
		p := &s.Parameters[i]
		share, ok := weighedShare(p)
		if !ok {
			continue
		}
		gap := smallestGap(s, class, p.ID)
		onSample := 100 * step.Float() / (sample.Float() * share)
		if gap <= 0 || onSample*clearSteps <= gap*(1+grading.Rounding) {
			continue
		}
		need := clearSteps * 100 * step.Float() / (gap * share)
		out = append(out, Coarse{Parameter: p.ID, Step: onSample, Gap: gap,
			NeedGrams: grading.NewDecimal(int(math.Ceil(need/sieveGrams-grading.Rounding)) * sieveGrams)})
	}
	return out
}

// weighedShare reports whether a parameter is made from weights, and what share
// of the sample's weight its whole is.
func weighedShare(p *grading.Parameter) (share float64, ok bool) {
	share = 1
	for _, t := range p.Terms {
		if t.Kind == grading.WeightShare {
			ok = true
			if t.Over == grading.BrownWeight {
				share = huskedShare
			}
		}
	}
	return share, ok
}

// smallestGap is the smallest distance between neighbouring limits of a
// parameter, none (0 for a maximum, 100 for a minimum) counted as one.
func smallestGap(s *grading.Standard, class string, id grading.ParameterID) float64 {
	smallest := 0.0
	var last float64
	for i := range s.Grades {
		b, ok := s.Limit(class, i+1, id)
		if !ok {
			continue
		}
		limit := b.Max
		if limit == nil {
			limit = b.Min
		}
		if limit == nil {
			continue
		}
		at := limit.Float()
		if i == 0 && limit == b.Min {
			last = 100
		}
		if d := math.Abs(at - last); d > 0 && (smallest == 0 || d < smallest) {
			smallest = d
		}
		last = at
	}
	return smallest
}

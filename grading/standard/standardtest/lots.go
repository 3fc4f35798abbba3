package standardtest

import (
	"math/rand/v2"

	"threshline/grading"
)

// NearLimits gives every parameter a direct value near one of its limits, so
// that chances lie between 0 and 1.
func NearLimits(r *rand.Rand, s *grading.Standard) grading.Readings {
	out := grading.Readings{Values: map[grading.ParameterID]grading.Decimal{}}
	class := ""
	if len(s.Classes) > 0 {
		class = s.Classes[r.IntN(len(s.Classes))]
	}
	out.Class = class
	for i := range s.Parameters {
		p := &s.Parameters[i]
		if p.Unit == grading.Word {
			out.Words = map[grading.ParameterID]string{p.ID: p.Words[r.IntN(len(p.Words))]}
			continue
		}
		at := grading.One
		if b, ok := s.Limit(class, 1+r.IntN(max(len(s.Grades), 1)), p.ID); ok {
			if b.Max != nil {
				at = *b.Max
			} else if b.Min != nil {
				at = *b.Min
			}
		}
		v := grading.Decimal(float64(at) * (0.2 + 0.9*r.Float64())).Round(1)
		if p.Unit.Percentage() {
			v = min(v, 100*grading.One)
		}
		if p.PartOf != "" {
			v = min(v, out.Values[p.PartOf])
		}
		out.Values[p.ID] = v
	}
	return out
}

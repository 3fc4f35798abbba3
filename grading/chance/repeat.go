package chance

import (
	"math"

	"threshline/grading"
)

// Difference is how far two checks of one lot lie apart in one parameter.
type Difference struct {
	Parameter     grading.ParameterID
	First, Second float64 // values, in the parameter's unit
	// Chance is how likely two samples of one and the same lot are to differ by
	// as much or more. Under 0.05 the samples, the measuring or the lot differ.
	Chance float64
}

// Differences compares two checks of one lot, parameter by parameter, in the
// standard's order: a recheck with the first, a buyer's with a grower's. What
// either did not measure, and what has no error model (see Assess), is left
// out. Each value is taken as normal with the variance that Assess gives it.
// Moisture may well have changed between the checks.
//
// Errors are those of Assess.
func Differences(s *grading.Standard, first, second grading.Readings, c Certainty) ([]Difference, error) {
	c.Alone = true // what other lots hold says nothing of two samples of this one
	a, err := NewAssessor(s, c)
	if err != nil {
		return nil, err
	}
	var one, two grading.Result
	if err := a.Assess(&first, &one); err != nil {
		return nil, err
	}
	variances := make([]float64, len(one.Parameters))
	for i := range variances {
		variances[i] = a.beliefs[i][0].variance
	}
	if err := a.Assess(&second, &two); err != nil {
		return nil, err
	}
	var out []Difference
	for i := range one.Parameters {
		v, w := &one.Parameters[i], &two.Parameters[i]
		variance := variances[i] + a.beliefs[i][0].variance
		if !v.Measured || !w.Measured || variance <= 0 {
			continue
		}
		apart := v.Value.Float() - w.Value.Float()
		out = append(out, Difference{
			Parameter: v.ID, First: v.Value.Float(), Second: w.Value.Float(),
			Chance: 2 * normalChance(-math.Abs(apart)/math.Sqrt(variance)),
		})
	}
	return out, nil
}

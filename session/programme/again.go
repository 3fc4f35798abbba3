package programme

import (
	"slices"

	"threshline/grading"
	"threshline/session"
)

// Again lists the fields to measure again. These are the fields of the deciding
// parameters, and of every parameter that shares a weight or a pan with them, because a
// new sample is taken. If the sample itself was the trouble, or was taken by another
// edition of the procedure, everything is measured again.
func Again(s *grading.Standard, c session.Check) []grading.Field {
	if Resamples(&c) || c.Procedure != session.Procedure {
		return sampled(&c)
	}
	fields := map[grading.Field]bool{}
	if len(c.Deciding) == 0 {
		fields[grading.Moisture] = true
	}
	for _, id := range c.Deciding {
		if p := s.Parameter(id); p != nil {
			mark(fields, p)
		}
	}
	for grew := true; grew; {
		grew = false
		for i := range s.Parameters {
			p, shares := &s.Parameters[i], false
			for _, term := range p.Terms {
				shares = shares || fields[term.Over] && term.Over != grading.NoField
			}
			if before := len(fields); shares {
				mark(fields, p)
				grew = grew || len(fields) > before
			}
		}
	}
	return slices.DeleteFunc(grading.Fields(), func(f grading.Field) bool { return !fields[f] })
}

func mark(fields map[grading.Field]bool, p *grading.Parameter) {
	for _, term := range p.Terms {
		for _, f := range term.Fields {
			fields[f] = true
		}
		fields[term.Over] = true
	}
}

// sampled lists what a check measured. A new sample measures all of it again.
func sampled(c *session.Check) []grading.Field {
	return slices.DeleteFunc(grading.Fields(), func(f grading.Field) bool { return !c.Readings.Has(f) })
}

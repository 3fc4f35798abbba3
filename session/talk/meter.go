package talk

import "threshline/grading"

// Meter is the person's moisture meter, as it is known today.
func (t *Filing) Meter() grading.Meter { return t.Programme.MeterOf(t.Person.Kit, t.In.At) }

package grading

import "slices"

// unfit are the signs of what is neither food nor feed until a laboratory says
// so. Source: [DEFRA-MOULD], [SC-TREATED]; that a chemical smell is
// one of them is our own rule, the cautious one.
var unfit = []Flag{TreatedSeed, Mouldy, Musty, OffOdour}

// Unfit reports whether what has the sign is neither food nor feed.
func (f Flag) Unfit() bool { return slices.Contains(unfit, f) }

// SafetyGate is the ID of the gate that stands above every standard.
const SafetyGate = "safety"

// NotAccepted is the name for a lot that only the safety gate stops.
const NotAccepted GradeLabel = "Not accepted"

// StopUnfit adds the safety gate for every sign of what is no food that the
// standard's own gates let into its ladder. Nothing is added twice.
func (s *Standard) StopUnfit() {
	let := slices.DeleteFunc(slices.Clone(unfit), func(f Flag) bool {
		return slices.ContainsFunc(s.Gates, func(g Gate) bool {
			return !g.Remark && s.gradeIndex(g.Outcome) < 0 && slices.Contains(g.Flags, f)
		})
	})
	if len(let) > 0 {
		s.Gates = append(s.Gates, Gate{ID: SafetyGate, Outcome: NotAccepted, Flags: let})
	}
}

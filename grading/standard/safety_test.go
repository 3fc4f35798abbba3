package standard_test

import (
	"testing"

	"threshline/grading"
	"threshline/grading/standard"
)

// TestNoStandardAcceptsWhatIsNoFood: mould, must, treated seed and a chemical
// smell take a lot out of the ladder of every built-in table. Sources:
// [DEFRA-MOULD], [SC-TREATED]; the chemical smell by our own rule.
func TestNoStandardAcceptsWhatIsNoFood(t *testing.T) {
	all, err := standard.Builtin()
	if err != nil || len(all) == 0 {
		t.Fatalf("%d standards, %v", len(all), err)
	}
	for _, s := range all {
		for _, sign := range []grading.Flag{grading.Mouldy, grading.Musty, grading.TreatedSeed, grading.OffOdour} {
			r := grading.Readings{Flags: []grading.Flag{sign}}
			res, err := grading.Grade(s, r)
			if err != nil {
				t.Fatalf("%s: %v", s.ID, err)
			}
			if !res.OutOfGrade() || len(res.Gates) == 0 {
				t.Errorf("%s calls a lot with %s %q, rank %d of %d, gates %q", s.ID, sign, res.Grade, res.Rank, res.Of, res.Gates)
			}
			if s.Label(res.Rank) != res.Grade || s.Rank(res.Grade) != res.Rank {
				t.Errorf("%s: %q is rank %d, rank %d is %q", s.ID, res.Grade, s.Rank(res.Grade), res.Rank, s.Label(res.Rank))
			}
		}
	}
}

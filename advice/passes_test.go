package advice_test

import (
	"testing"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/standard"
)

// TestAPassThatCannotBeIsNotAdvised: what a lot weighs in parts is a little more than its
// sample, so that after a second pass of winnowing, but not after the first, more would
// be left than there was. That pass is no way to spare the cost of the first.
func TestAPassThatCannotBeIsNotAdvised(t *testing.T) {
	s, err := standard.ByID("agmark-paddy")
	if err != nil {
		t.Fatal(err)
	}
	c := advice.Case{Standard: s, KG: grading.NewDecimal(5000)}
	for f, d := range map[grading.Field]grading.Decimal{
		grading.SampleWeight: 20 * grading.One, grading.Chaff: 3000, grading.Stones: 0, grading.CleanWeight: 197100,
		grading.BrownWeight: 155000, grading.ImmatureWeight: 0, grading.Counted: 100 * grading.One, grading.PestDamaged: 0,
		grading.Discoloured: 0, grading.Red: 0, grading.OtherVariety: 0, grading.Moisture: 12 * grading.One,
	} {
		c.Readings.Set(f, d)
	}
	c.Settings.DayWage = grading.NewDecimal(3000)
	c.Settings.Prices = map[grading.GradeLabel]grading.Decimal{}
	for i := range s.Grades {
		c.Settings.Prices[s.Grades[i].Label] = 58*grading.One - grading.Decimal(i)*grading.One/100
	}
	for _, o := range advice.Advise(c).Considered {
		if o.Remedy != advice.Winnow {
			continue
		}
		if o.Becomes == "" || o.Passes != 1 || o.KGLost > 100 || o.Gain >= 0 {
			t.Errorf("winnowing: becomes %q after %d passes, %v kg lost, gain %v; want one pass that costs more than it brings", o.Becomes, o.Passes, o.KGLost, o.Gain)
		}
		return
	}
	t.Fatal("winnowing was not considered")
}

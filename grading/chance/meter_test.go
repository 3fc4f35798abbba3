package chance_test

import (
	"math"
	"testing"

	"threshline/grading/chance"
)

// TestAnUncheckedMeterWidensTheChance: three readings of 13.5 meet 14 all but
// surely on a meter that was checked, and one in five times or so do not on one
// that was not: such meters lie 1.13 off in the mean square [HAND-METERS], which
// leaves 0.5 / 1.13 = 0.44 deviations, less what dry paddy usually is.
func TestAnUncheckedMeterWidensTheChance(t *testing.T) {
	for text, want := range map[string][2]float64{
		`{"moisture":[13.5,13.5,13.5],"meter":{"bias":0}}`:               {0.99, 1},
		`{"moisture":[13.5,13.5,13.5],"meter":"M6"}`:                     {0.67, 0.9},
		`{"moisture":[14.4,14.4,14.4],"meter":{"bias":0.9,"doubt":0.1}}`: {0.97, 1},
	} {
		res := assess(t, agmark(t), text, chance.Certainty{})
		if meets := res.Parameter("moisture").Meets; meets < want[0] || meets > want[1] {
			t.Errorf("%s: %.3f, want %v", text, meets, want)
		}
	}
}

// TestHavingTheMeterCheckedSettlesMost: where it is the meter that makes the grade
// doubtful no further reading helps, and that is said.
func TestHavingTheMeterCheckedSettlesMost(t *testing.T) {
	rest := `"sample_g":200,"chaff_g":0.1,"stones_g":0,"values":{"admixture":0,"damaged_immature_weevilled":0}}`
	res := assess(t, agmark(t), `{"moisture":[13.6,13.7,13.5],`+rest, chance.Certainty{})
	if res.Settle == nil || !res.Settle.CheckMeter || res.Settle.Parameter != "moisture" {
		t.Errorf("not checked: %+v", res.Settle)
	}
	res = assess(t, agmark(t), `{"moisture":[13.8],"meter":{"bias":0},`+rest, chance.Certainty{})
	if res.Settle == nil || res.Settle.CheckMeter || res.Settle.Repeats < 2 {
		t.Errorf("checked: %+v, want more readings", res.Settle)
	}
}

// TestALikelierGradeIsSaid: one bored grain of 100 in a lot that is clean in all
// else makes it II, and more likely it has fewer.
func TestALikelierGradeIsSaid(t *testing.T) {
	res := assess(t, agmark(t), `{"moisture":[13,13,13],"meter":{"bias":0},"sample_g":200,"chaff_g":0.3,"stones_g":0,"brown_g":155,"immature_g":0.1,
		"counted":100,"pest_damaged":1,"discoloured":0,"red":1,"other_variety":0}`, chance.Certainty{})
	if res.Grade != "II" || res.Likelier != "I" || res.LikelierChance <= res.Confidence || math.Abs(res.LikelierChance-res.Better) > 1e-9 {
		t.Errorf("%s %.2f, likelier %q %.2f", res.Grade, res.Confidence, res.Likelier, res.LikelierChance)
	}
}

package advice_test

import (
	"slices"
	"testing"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/chance"
)

// checked grades a lot of the demo's table: moisture, chaff and stones g of
// 200, red of 400.
func checked(t *testing.T, kg, moisture, chaff, stones, red string) advice.Checked {
	t.Helper()
	var r grading.Readings
	for range 3 {
		r.Repeats = append(r.Repeats, dec(t, moisture))
	}
	r.Set(grading.SampleWeight, dec(t, "200"))
	r.Set(grading.Chaff, dec(t, chaff))
	r.Set(grading.Stones, dec(t, stones))
	r.Set(grading.BrownWeight, dec(t, "150"))
	r.Set(grading.ImmatureWeight, dec(t, "1"))
	r.Set(grading.Counted, dec(t, "400"))
	r.Set(grading.PestDamaged, 0)
	r.Set(grading.Discoloured, 0)
	r.Set(grading.Red, dec(t, red))
	res, err := chance.Assess(book(t, "mbuyu-hand"), r, chance.Certainty{})
	if err != nil {
		t.Fatal(err)
	}
	return advice.Checked{Readings: r, Result: res, KG: dec(t, kg)}
}

func TestCompareTwoChecksOfALot(t *testing.T) {
	settings := advice.Settings{Prices: map[grading.GradeLabel]grading.Decimal{
		"Grade 1": dec(t, "52"), "Grade 2": dec(t, "48"), "Grade 3": dec(t, "42")}, OutPrice: dec(t, "30")}
	for _, c := range []struct {
		name          string
		before, after advice.Checked
		steps         int
		earned        string // "" when it cannot be said
		moved         []grading.ParameterID
		doubts        []advice.Doubt
	}{
		{
			// 600 kg at 48 are 28,800; 592 kg at 52 are 30,784.
			name:   "winnowed: a grade up, eight kilos of chaff out",
			before: checked(t, "600", "13", "3.2", "0.2", "1"), after: checked(t, "592", "13", "0.4", "0.2", "1"),
			steps: 1, earned: "1984", moved: []grading.ParameterID{"chaff"},
		},
		{
			// 1000 kg from 25 to 13.5 % weigh 867 kg: no doubt about it. 30,000 become 45,084.
			name:   "dried: lighter by the water",
			before: checked(t, "1000", "25", "0.4", "0.2", "1"), after: checked(t, "867", "13.5", "0.4", "0.2", "1"),
			steps: 3, earned: "15084", moved: []grading.ParameterID{"moisture"},
		},
		{
			name:   "a lot does not grow",
			before: checked(t, "600", "13", "3.2", "0.2", "1"), after: checked(t, "700", "13", "0.4", "0.2", "1"),
			steps: 1, earned: "7600", moved: []grading.ParameterID{"chaff"}, doubts: []advice.Doubt{advice.Heavier},
		},
		{
			name:   "a tenth went missing",
			before: checked(t, "600", "13", "0.4", "0.2", "1"), after: checked(t, "540", "13", "0.4", "0.2", "1"),
			steps: 0, earned: "-3120", doubts: []advice.Doubt{advice.LostTooMuch},
		},
		{
			name:   "red grains do not turn white",
			before: checked(t, "600", "13", "0.4", "0.2", "40"), after: checked(t, "600", "13", "0.4", "0.2", "1"),
			steps: 2, earned: "6000", moved: []grading.ParameterID{"red"}, doubts: []advice.Doubt{advice.MendedItself},
		},
		{
			name:   "rained on",
			before: checked(t, "600", "13", "0.4", "0.2", "1"), after: checked(t, "600", "15.5", "0.4", "0.2", "1"),
			steps: -3, earned: "-13200", moved: []grading.ParameterID{"moisture"}, doubts: []advice.Doubt{advice.Wetter},
		},
		{
			name:   "the weight of one check is unknown",
			before: checked(t, "0", "13", "3.2", "0.2", "1"), after: checked(t, "592", "13", "0.4", "0.2", "1"),
			steps: 1, moved: []grading.ParameterID{"chaff"},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := advice.Compare(book(t, "mbuyu-hand"), settings, c.before, c.after)
			if got.Steps != c.steps || got.HasMoney != (c.earned != "") || got.HasMoney && got.Earned != dec(t, c.earned) {
				t.Errorf("%d steps, earned %s (%v), want %d and %q", got.Steps, got.Earned, got.HasMoney, c.steps, c.earned)
			}
			var moved []grading.ParameterID
			for _, m := range got.Moved {
				moved = append(moved, m.Parameter)
			}
			if !slices.Equal(moved, c.moved) || !slices.Equal(got.Doubts, c.doubts) {
				t.Errorf("moved %v, doubts %v, want %v, %v", moved, got.Doubts, c.moved, c.doubts)
			}
		})
	}
}

func TestAWinnowedLotMovedClearly(t *testing.T) {
	got := advice.Compare(book(t, "mbuyu-hand"), advice.Settings{},
		checked(t, "600", "13", "3.2", "0.2", "4"), checked(t, "592", "13", "0.4", "0.2", "5"))
	for _, m := range got.Moved {
		if clear := m.Parameter == "chaff"; m.Clear != clear {
			t.Errorf("%s from %s to %s: clear %v", m.Parameter, m.Before, m.After, m.Clear)
		}
	}
	if got.HasMoney || len(got.Doubts) != 0 {
		t.Errorf("%+v", got)
	}
}

// TestTheWeightThatWasNotWeighedAgain: 1000 kg from 25 % to 14 % are 872 kg, as
// [IRRI-MC] prints it; nobody weighs a lot twice, so that the later check still
// says 1000.
func TestTheWeightThatWasNotWeighedAgain(t *testing.T) {
	settings := advice.Settings{Prices: map[grading.GradeLabel]grading.Decimal{"Grade 1": dec(t, "50")}, OutPrice: dec(t, "30")}
	after := checked(t, "1000", "14", "0.4", "0.2", "1")
	after.TakenOver = true
	got := advice.Compare(book(t, "mbuyu-hand"), settings, checked(t, "1000", "25", "0.4", "0.2", "1"), after)
	if !got.Reckoned || got.KG.Round(0) != dec(t, "128") || len(got.Doubts) != 0 {
		t.Errorf("%s kg lighter, reckoned %v, doubts %v; want 128 without a doubt", got.KG, got.Reckoned, got.Doubts)
	}
	if after.Result.Grade != "Grade 1" || !got.HasMoney || (got.Earned-dec(t, "13600")).Float() > 25 || (got.Earned-dec(t, "13600")).Float() < -25 { // 872 x 50 less 1000 x 30
		t.Errorf("grade %s, earned %s (%v), want 13600 within half a kilo", after.Result.Grade, got.Earned, got.HasMoney)
	}
}

func TestChecksByTwoStandardsShareNoLadder(t *testing.T) {
	other := checked(t, "592", "13", "0.4", "0.2", "5")
	other.Result.StandardID = "agmark-paddy"
	got := advice.Compare(book(t, "mbuyu-hand"), advice.Settings{}, checked(t, "600", "13", "3.2", "0.2", "4"), other)
	if got.Steps != 0 || got.HasMoney {
		t.Errorf("%+v", got)
	}
}

package advice_test

import (
	"testing"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/standard/standardtest"
)

// What fell through the sieve is sand, what was picked is stones: said apart, the
// remedy is the one for what is there. Small lots, so that all of them can be done.
// Source of what each takes: [ASSUMED-ADVICE] and [CIGR-DESTONE]; that a destoner
// and hands leave the sand is assumed.
func TestSandIsSievedAndStonesArePicked(t *testing.T) {
	s, err := standardtest.ByID("agmark-paddy")
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		name, stones string
		kg           int
		want         advice.RemedyID
	}{
		{"sand of a large lot", `"10.8+0.2"`, 6000, advice.Sieve},
		{"stones of a large lot", `"0.2+10.8"`, 6000, advice.Destone},
		{"sand of a small one", `"10.8+0.2"`, 60, advice.Sieve},
		{"stones of a small one", `"0.2+10.8"`, 60, advice.PickStones},
	} {
		var r grading.Readings
		if err := r.UnmarshalJSON([]byte(`{"moisture":[12,12,12],"meter":{"bias":0},"sample_g":200,"chaff_g":0.2,"stones_g":` + row.stones +
			`,"brown_g":152,"immature_g":0.5,"counted":400,"pest_damaged":0,"discoloured":0,"red":0,"other_variety":0,"flags":[]}`)); err != nil {
			t.Fatal(err)
		}
		c := advice.Case{Standard: s, Readings: r, KG: grading.NewDecimal(row.kg), Settings: advice.Settings{
			Prices:  map[grading.GradeLabel]grading.Decimal{"I": 60 * grading.One, "II": 50 * grading.One, "III": 40 * grading.One, "IV": 30 * grading.One},
			DayWage: 300 * grading.One,
			Tariffs: map[advice.RemedyID]advice.Tariff{advice.Destone: {Fixed: 800 * grading.One}},
		}}
		var a advice.Adviser
		if err := a.Assess(&c); err != nil {
			t.Fatal(err)
		}
		if got := a.Advise(&c); got.Best.Remedy != row.want {
			t.Errorf("%s: advised %s, want %s", row.name, got.Best.Remedy, row.want)
		}
	}
}

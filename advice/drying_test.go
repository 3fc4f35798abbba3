package advice_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"threshline/advice"
	"threshline/grading"
)

func dec(t testing.TB, s string) grading.Decimal { return number(t, s) }

func TestDryAgainstPublishedAndDerivedExamples(t *testing.T) {
	for _, c := range []struct {
		kg, from, to, want string // kg, rounded to the decimals given
		places             int
		source             string
	}{
		{"1000", "25", "14", "872.093", 3, "[IRRI-MC], printed as 872"},
		{"1000", "25", "14", "872", 0, "[IRRI-MC], printed"},
		{"100", "28", "14", "83.721", 3, "derived from [IRRI-MC]"},
		{"100", "24", "14", "88.372", 3, "derived; the rule of one kg a point gives 90"},
		{"100", "22", "14", "90.698", 3, "derived"},
		{"100", "20", "14", "93.023", 3, "derived"},
		{"100", "18", "14", "95.349", 3, "derived"},
		{"100", "17", "14", "96.512", 3, "derived"},
		{"100", "16", "14", "97.674", 3, "derived"},
		{"100", "15", "14", "98.837", 3, "derived"},
		{"100", "20", "13", "91.954", 3, "derived"},
		{"1000", "25", "12", "852.273", 3, "derived"},
		{"1000", "19", "15", "952.941", 3, "derived"},
		{"100", "14", "12", "97.727", 3, "derived"},
		{"100", "14", "14", "100", 3, "nothing to dry"},
		{"0", "20", "14", "0", 3, "nothing there"},
	} {
		got, err := advice.Dry(dec(t, c.kg), dec(t, c.from), dec(t, c.to))
		if err != nil || got.Round(c.places) != dec(t, c.want) {
			t.Errorf("Dry(%s, %s, %s) = %s, %v, want %s (%s)", c.kg, c.from, c.to, got, err, c.want, c.source)
		}
	}
}

// 8,000 kg at 12 % dry basis out of paddy at 20 % wet basis takes 8,928.57 kg:
// a published worked problem, [MATHIX-PADDY]. Who forgets to turn the basis
// buys 8,800 kg.
func TestMixingTheBasesIsCaught(t *testing.T) {
	wet := dec(t, "10.7143") // 100 x 12 / 112
	got, err := advice.WetNeeded(dec(t, "8000"), dec(t, "20"), wet)
	if err != nil || math.Abs(got.Float()-8928.57) > 0.01 {
		t.Errorf("WetNeeded = %s, %v, want 8928.57", got, err)
	}
	trap, err := advice.WetNeeded(dec(t, "8000"), dec(t, "20"), dec(t, "12"))
	if err != nil || trap != dec(t, "8800") {
		t.Errorf("with the bases mixed: %s, %v, want 8800", trap, err)
	}
}

func TestDryingThatCannotBeIsRefused(t *testing.T) {
	for _, c := range []struct {
		kg, from, to string
		want         error
	}{
		{"100", "12", "14", advice.ErrWetter},
		{"100", "20", "100", advice.ErrMoisture},
		{"100", "100", "14", advice.ErrMoisture},
		{"100", "-1", "-2", advice.ErrMoisture},
		{"100", "20", "-0.1", advice.ErrMoisture},
		{"-1", "20", "14", advice.ErrWeight},
		{"100000001", "20", "14", advice.ErrWeight},
	} {
		if got, err := advice.Dry(dec(t, c.kg), dec(t, c.from), dec(t, c.to)); !errors.Is(err, c.want) || got != 0 {
			t.Errorf("Dry(%s, %s, %s) = %s, %v, want %v", c.kg, c.from, c.to, got, err, c.want)
		}
	}
}

func TestDryMatterStays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kg := grading.Decimal(rapid.Int64Range(0, int64(advice.MaxKG)).Draw(t, "kg"))
		from := grading.Decimal(rapid.Int64Range(0, 999_999).Draw(t, "from"))
		to := grading.Decimal(rapid.Int64Range(0, int64(from)).Draw(t, "to"))
		after, err := advice.Dry(kg, from, to)
		if err != nil {
			t.Fatal(err)
		}
		if after > kg {
			t.Fatalf("%s kg weighs %s after drying", kg, after)
		}
		was, is := kg.Float()*(100-from.Float()), after.Float()*(100-to.Float())
		if math.Abs(was-is) > 1e-9*was+0.01 {
			t.Fatalf("dry matter was %v, is %v", was/100, is/100)
		}
	})
}

func TestKeepTargets(t *testing.T) {
	for _, c := range []struct {
		use  advice.Use
		days int
		want string
	}{
		{advice.Food, 0, "14"},   // [IRRI-STORE]
		{advice.Food, 14, "14"},  // [IRRI-STORE-OLD], the dry end of 14 to 18
		{advice.Food, 90, "14"},  // [IRRI-STORE], a few months
		{advice.Food, 240, "13"}, // [IRRI-STORE], 8 to 12 months
		{advice.Food, 365, "13"}, // the same
		{advice.Food, 366, "9"},  // [IRRI-STORE-OLD], more than a year; not "less than 1 year"
		{advice.Seed, 0, "12"},   // [IRRI-STORE], farmers' seed
		{advice.Seed, 200, "12"}, // the same
		{advice.Seed, 500, "9"},  // more than a year
		{advice.Food, -5, "14"},  // unknown
		{advice.Food, 120, "14"}, // the gap between a few and eight months, ours
		{advice.Food, 121, "13"}, // its other side
	} {
		if got := advice.KeepTarget(c.use, c.days); got != dec(t, c.want) {
			t.Errorf("KeepTarget(%q, %d) = %s, want %s", c.use, c.days, got, c.want)
		}
	}
}

func TestPlanDrying(t *testing.T) {
	p, err := advice.PlanDrying(dec(t, "1000"), dec(t, "25"), dec(t, "14"), advice.Food)
	if err != nil {
		t.Fatal(err)
	}
	if p.KGAfter.Round(0) != dec(t, "872") { // [IRRI-MC]
		t.Errorf("weighs %s after, want 872", p.KGAfter)
	}
	if p.LayerMin != 2 || p.LayerMax != 4 || p.TurnMinutes != 30 || p.CoverAbove != 50 { // [IRRI-SUN]
		t.Errorf("layer %d to %d cm, turn every %d min, cover above %d C", p.LayerMin, p.LayerMax, p.TurnMinutes, p.CoverAbove)
	}
	if p.DaysMin != 1 || p.DaysMax != 3 { // [SEUSL-DRY], [RAB-RICE]
		t.Errorf("%d to %d days, want 1 to 3", p.DaysMin, p.DaysMax)
	}
	if p.FirstTo != advice.MicrobesAbove || p.Rests != 2 {
		t.Errorf("first to %s, %d rests", p.FirstTo, p.Rests)
	}
	seed, err := advice.PlanDrying(0, dec(t, "15"), dec(t, "12"), advice.Seed)
	if err != nil || seed.CoverAbove != 42 || seed.AirMax != 43 { // [VN-FACT], [RKMP-DRYING]
		t.Errorf("seed is covered above %d C, dried in air of %d, %v, want 42 and 43", seed.CoverAbove, seed.AirMax, err)
	}
	if !p.HotAirHelps || seed.HotAirHelps { // [RKMP-DRYING], above 18 % only
		t.Errorf("hot air helps at 25 %%: %v, at 15 %%: %v", p.HotAirHelps, seed.HotAirHelps)
	}
	if seed.Rests != 0 || seed.FirstTo != dec(t, "12") || seed.DaysMin > seed.DaysMax {
		t.Errorf("plan for seed: %+v", seed)
	}
	// No way is longer from drier grain, or to a wetter target; the ends are 25 to
	// 14 as above and 9, assumed.
	for _, c := range []struct {
		from, to    string
		least, most int
	}{{"18", "14", 1, 2}, {"18", "12", 2, 3}, {"25", "9", 3, 5}, {"18", "9", 3, 4}, {"13", "9", 2, 3}, {"11", "9", 1, 2}, {"13.5", "13", 1, 2}} {
		p, err := advice.PlanDrying(0, dec(t, c.from), dec(t, c.to), advice.Food)
		if err != nil || p.DaysMin != c.least || p.DaysMax != c.most {
			t.Errorf("%s to %s takes %d to %d days, %v; want %d to %d", c.from, c.to, p.DaysMin, p.DaysMax, err, c.least, c.most)
		}
	}
	for _, from := range []string{"13", "14"} {
		if _, err := advice.PlanDrying(0, dec(t, from), dec(t, "14"), advice.Food); !errors.Is(err, advice.ErrWetter) {
			t.Errorf("from %s to 14 is %v, want refused", from, err)
		}
	}
}

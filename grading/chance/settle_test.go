package chance_test

import (
	"fmt"
	"math"
	"testing"

	"threshline/grading"
	"threshline/grading/chance"
)

// TestSettleCountsEnoughGrains: at the grains asked for, the exact bounds of
// the same share no longer enclose the limit, and a pan fewer still do.
func TestSettleCountsEnoughGrains(t *testing.T) {
	s := agmark(t)
	for _, red := range []int{1, 2, 8, 12, 20, 22} {
		text := fmt.Sprintf(`{"meter":{"bias":0},"moisture":[12.5,12.5,12.5],"sample_g":200,"chaff_g":0.1,"stones_g":0,
			"brown_g":155,"immature_g":0,"counted":100,"pest_damaged":0,"discoloured":0,"red":%d,"other_variety":0}`, red)
		r := readingsOf(t, text)
		r.Values = map[grading.ParameterID]grading.Decimal{"damaged_immature_weevilled": 0}
		res, err := chance.Assess(s, r, chance.Certainty{})
		if err != nil {
			t.Fatal(err)
		}
		if !res.Borderline {
			t.Fatalf("%d red of 100 is not borderline", red)
		}
		if res.Settle == nil || res.Settle.Grains == 0 {
			t.Fatalf("%d red of 100: nothing settles it", red)
		}
		limit := nearestLimit(float64(red))
		if encloses(t, red, res.Settle.Grains, limit) {
			t.Errorf("%d red: %d grains do not clear %v %%", red, res.Settle.Grains, limit)
		}
		if fewer := res.Settle.Grains - 100; fewer > 100 && !encloses(t, red, fewer, limit) {
			t.Errorf("%d red: %d grains would already clear %v %%", red, fewer, limit)
		}
	}
}

// nearestLimit is the admixture limit of [AGMARK-PADDY] nearest to a share.
func nearestLimit(share float64) float64 {
	best := 5.0
	for _, limit := range []float64{10, 15, 30} {
		if math.Abs(limit-share) < math.Abs(best-share) {
			best = limit
		}
	}
	return best
}

func encloses(t *testing.T, percent, grains int, limit float64) bool {
	low, high, err := chance.Interval(percent*grains/100, grains, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	return 100*low <= limit && limit <= 100*high
}

// TestSettleOfMoistureAndWeight asks for the tool that is short.
func TestSettleOfMoistureAndWeight(t *testing.T) {
	s := agmark(t)
	wet := assess(t, s, `{"moisture":[13.8],"sample_g":200,"chaff_g":0.1,"stones_g":0,"meter":{"bias":0},"values":{"admixture":0,"damaged_immature_weevilled":0}}`, chance.Certainty{})
	// One reading of deviation 0.25 lies 0.2 under the limit: (1.96*0.25/0.2)^2 = 6.0.
	if wet.Settle == nil || wet.Settle.Repeats != 7 {
		t.Errorf("moisture: %+v, want 7 readings in all", wet.Settle)
	}
	dirty := assess(t, s, `{"moisture":[12.5,12.5],"sample_g":20,"chaff_g":0.28,"stones_g":0,"values":{"admixture":0,"damaged_immature_weevilled":0}}`, chance.Certainty{})
	if dirty.Settle == nil || dirty.Settle.Grams < 20*grading.One || dirty.Settle.Grains != 0 {
		t.Errorf("foreign matter: %+v, want more grams", dirty.Settle)
	}
}

// TestNothingSettlesALotAtItsLimit: no sample tells a lot right at a limit, and
// 2,000 grains do not tell 14 from 15 % (a deviation of 0.8 points).
func TestNothingSettlesALotAtItsLimit(t *testing.T) {
	near := assess(t, agmark(t), `{"meter":{"bias":0},"moisture":[12,12,12],"sample_g":200,"chaff_g":0.1,"stones_g":0,"counted":100,"red":14,"other_variety":0,
		"values":{"damaged_immature_weevilled":0}}`, chance.Certainty{})
	if !near.Borderline || near.Settle != nil {
		t.Errorf("14 red of 100: borderline %v, settle %+v", near.Borderline, near.Settle)
	}
	res := assess(t, agmark(t), `{"meter":{"bias":0},"moisture":[14,14,14],"sample_g":200,"chaff_g":0.1,"stones_g":0,"values":{"admixture":0,"damaged_immature_weevilled":0}}`, chance.Certainty{})
	if !res.Borderline || res.Settle != nil {
		t.Errorf("borderline %v, settle %+v", res.Borderline, res.Settle)
	}
}

// TestACoarseScale: one step of 0.1 g is 0.5 % of 20 g and cannot prove
// limits 1 % apart; 0.01 g can; 0.1 g can on 50 g.
func TestACoarseScale(t *testing.T) {
	s := agmark(t)
	d := func(text string) grading.Decimal {
		out, err := grading.ParseDecimal(text)
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	coarse := chance.TooCoarse(s, "", d("20"), d("0.1"))
	if len(coarse) == 0 || coarse[0].Parameter != "foreign_matter" {
		t.Fatalf("0.1 g on 20 g: %+v, want foreign matter", coarse)
	}
	if c := coarse[0]; math.Abs(c.Step-0.5) > 1e-9 || c.Gap != 1 || c.NeedGrams != d("50") {
		t.Errorf("0.1 g on 20 g: %+v, want a step of 0.5 %%, a gap of 1 %% and 50 g", c)
	}
	for _, fine := range [][2]string{{"20", "0.01"}, {"100", "0.1"}, {"0", "0.1"}, {"20", "0"}} {
		if got := chance.TooCoarse(s, "", d(fine[0]), d(fine[1])); len(got) != 0 {
			t.Errorf("%s g by %s g: %+v, want none", fine[0], fine[1], got)
		}
	}
	// A limit of 0.5 % needs 100 g by 0.1 g.
	half := d("0.5")
	proof := &grading.Standard{Parameters: s.Parameters[:1], Rule: grading.WorstOf, Grades: []grading.GradeRow{
		{Label: "only", Limits: map[string]map[grading.ParameterID]grading.Bound{"": {"foreign_matter": {Max: &half}}}},
	}}
	if got := chance.TooCoarse(proof, "", d("20"), d("0.1")); len(got) != 1 || got[0].NeedGrams != d("100") {
		t.Errorf("a limit of 0.5 %%: %+v, want 100 g", got)
	}
}

// TestSettleSievesEnough: with the same shares in the grams asked for, the
// bounds are clear of the limit; with 15 g less they are not.
func TestSettleSievesEnough(t *testing.T) {
	s := agmark(t)
	for _, chaff := range []float64{0.1, 0.14, 0.28, 0.32, 0.6, 0.9} {
		res := assess(t, s, sieved(20, chaff), chance.Certainty{ScaleStep: 0.0001})
		v := res.Parameter("foreign_matter")
		if !res.Borderline || res.Settle == nil || res.Settle.Parameter != v.ID {
			t.Fatalf("%v g of 20 g: borderline %v, settle %+v", chaff, res.Borderline, res.Settle)
		}
		grams := res.Settle.Grams.Float()
		enough := assess(t, s, sieved(grams, chaff*grams/20), chance.Certainty{ScaleStep: 0.0001})
		if enough.Borderline {
			t.Errorf("%v g of 20 g: %v g do not settle it", chaff, grams)
		}
		if less := grams - 15; less > 20 {
			if res := assess(t, s, sieved(less, chaff*less/20), chance.Certainty{ScaleStep: 0.0001}); !res.Borderline {
				t.Errorf("%v g of 20 g: %v g are asked for, %v g would do", chaff, grams, less)
			}
		}
	}
}

// sieved is a sample of which only chaff is in doubt.
func sieved(grams, chaff float64) string {
	return fmt.Sprintf(`{"moisture":[11,11,11],"sample_g":%.3f,"chaff_g":%.4f,"stones_g":0,"values":{"admixture":0,"damaged_immature_weevilled":0}}`, grams, chaff)
}

// TestSettleUpIsOfWhatHoldsTheLotDown: an unchecked meter leaves the most doubt for
// its minutes, but what could find a better grade is the count; and never more than
// two hours of work.
func TestSettleUpIsOfWhatHoldsTheLotDown(t *testing.T) {
	const lot = `{"moisture":[13.6,13.6,13.6],"sample_g":200,"chaff_g":0.1,"stones_g":0,"counted":100,"red":%d,"other_variety":0,"values":{"damaged_immature_weevilled":0}}`
	res := assess(t, agmark(t), fmt.Sprintf(lot, 8), chance.Certainty{})
	if res.Settle == nil || !res.Settle.CheckMeter || res.Settle.Minutes != 15 {
		t.Errorf("settle %+v, want the meter", res.Settle)
	}
	if up := res.SettleUp; up == nil || up.Parameter != "admixture" || up.Grains == 0 || up.CheckMeter {
		t.Fatalf("settle up %+v, want grains", res.SettleUp)
	} else if more := up.Beside(&grading.Readings{}); more.Grains != up.Grains {
		t.Errorf("beside nothing %+v", more)
	} else if pans := float64(up.Grains-100) / 100; up.Minutes != 10*pans {
		t.Errorf("%v minutes for %v pans more", up.Minutes, pans)
	}
	// 6 of 100 against 5 %: some 2,000 grains, over three hours.
	if res := assess(t, agmark(t), fmt.Sprintf(lot, 6), chance.Certainty{}); res.SettleUp != nil {
		t.Errorf("6 of 100: %+v", res.SettleUp)
	}
	// Of the best grade, nothing is found that is better.
	if res := assess(t, agmark(t), fmt.Sprintf(lot, 1), chance.Certainty{}); !res.Borderline || res.SettleUp != nil {
		t.Errorf("1 of 100: borderline %v, %+v", res.Borderline, res.SettleUp)
	}
}

package advice_test

import (
	"testing"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/byhand"
	"threshline/grading/standard/standardtest"
)

// TestWhatIsTriedByHand: where no remedy is sure, the likeliest is tried, on a lot that
// somebody looked at; where one is, none is. Drying is tried by a meter's reading.
func TestWhatIsTriedByHand(t *testing.T) {
	some := chaffyHand
	some.Empty = 10
	metered := lookedAt(goodHand)
	metered.Repeats, metered.Meter = []grading.Decimal{130000, 130000}, grading.Meter{Checked: true, Doubt: 1500}
	for name, c := range map[string]struct {
		readings grading.Readings
		remedy   advice.RemedyID
	}{
		"a good lot":                {lookedAt(goodHand), advice.DrySun},
		"a good lot, read dry":      {metered, ""},
		"some chaff":                {lookedAt(some), advice.Winnow},
		"much chaff, which is sure": {lookedAt(chaffyHand), ""},
		"nobody looked at":          {grading.Readings{Hand: some}, ""},
		"mould":                     {lookedAt(some, grading.Mouldy), ""},
		"water by bite":             {lookedAt(goodHand, grading.TooWet), ""},
	} {
		h := adviseByHand(t, c.readings)
		if h.Try.Remedy != c.remedy {
			t.Errorf("%s: tried is %q with %.2f, want %q", name, h.Try.Remedy, h.Try.Named, c.remedy)
		}
		if try := h.Try; try.Remedy != "" && (h.Best.Remedy != "" || try.Named > try.Useful || try.Useful > 1) {
			t.Errorf("%s: tried with %.2f, useful with %.2f, beside %q", name, try.Named, try.Useful, h.Best.Remedy)
		}
		if rem := advice.RemedyOf(h.Try.Remedy); rem != nil && rem.Dries && h.Try.Over != 14*grading.One {
			t.Errorf("%s: dried when over %v %%, the limit is 14", name, h.Try.Over)
		}
	}
}

// TestALotOfNoKnownSizeIsNotPickedOver: seventy hours a tonne are for a bag or two.
func TestALotOfNoKnownSizeIsNotPickedOver(t *testing.T) {
	s, err := standardtest.ByID("mbuyu-hand")
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range []grading.Hand{{Grains: 200, Empty: 12, Stones: 1, Green: 6, Husked: 50}, {Grains: 200, Empty: 20, Stones: 9, Husked: 50}, chaffyHand} {
		r := lookedAt(h)
		likely, err := byhand.Assess(s, &r, byhand.Options{})
		if err != nil {
			t.Fatal(err)
		}
		got := advice.ByHand(advice.Case{Standard: s, Readings: r, At: time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)}, &likely)
		for _, id := range []advice.RemedyID{got.Best.Remedy, got.Try.Remedy} {
			if rem := advice.RemedyOf(id); rem != nil && rem.LargestKG > 0 && rem.LargestKG < 1000 {
				t.Errorf("%v: %s", h, id)
			}
		}
	}
}

// TestWaterThatATableTakesLeavesAnotherRemedy: where 17 % is taken, a lot felt wet is
// seldom too wet for it: beside the drying, what would better it is tried.
func TestWaterThatATableTakesLeavesAnotherRemedy(t *testing.T) {
	s, err := standardtest.ByID("in-kms")
	if err != nil {
		t.Fatal(err)
	}
	r := lookedAt(redHand, grading.TooWet)
	r.Class = s.Classes[0]
	likely, err := byhand.Assess(s, &r, byhand.Options{Bags: 12})
	if err != nil {
		t.Fatal(err)
	}
	h := advice.ByHand(advice.Case{Standard: s, Readings: r, KG: 600 * grading.One, At: time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)}, &likely)
	if !h.Wet || h.Best.Remedy != advice.DrySun || h.Try.Remedy != advice.BetterSeed {
		t.Errorf("wet %v, %q, tried %q; want drying, and better seed tried", h.Wet, h.Best.Remedy, h.Try.Remedy)
	}
}

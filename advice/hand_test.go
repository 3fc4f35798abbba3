package advice_test

import (
	"reflect"
	"testing"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/byhand"
	"threshline/grading/standard/standardtest"
)

func adviseByHand(t *testing.T, r grading.Readings) advice.Hand {
	t.Helper()
	s, err := standardtest.ByID("mbuyu-hand")
	if err != nil {
		t.Fatal(err)
	}
	likely, err := byhand.Assess(s, &r, byhand.Options{Bags: 12})
	if err != nil {
		t.Fatal(err)
	}
	return advice.ByHand(advice.Case{Standard: s, Readings: r, KG: 600 * grading.One, At: time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)}, &likely)
}

func lookedAt(h grading.Hand, flags ...grading.Flag) grading.Readings {
	return grading.Readings{Hand: h, Looked: grading.WasLooked, Flags: flags}
}

var (
	goodHand   = grading.Hand{Grains: 200, Empty: 2, Husked: 50, Handfuls: 3}
	chaffyHand = grading.Hand{Grains: 200, Empty: 40, Green: 1, Husked: 50, Handfuls: 3}
	redHand    = grading.Hand{Grains: 200, Empty: 2, Husked: 50, Red: 14, Handfuls: 3}
)

func TestTheRemedyByHand(t *testing.T) {
	alive := lookedAt(goodHand)
	alive.Set(grading.LiveWeevils, 3*grading.One)
	unlooked := grading.Readings{Hand: goodHand}
	for name, c := range map[string]struct {
		readings   grading.Readings
		remedy     advice.RemedyID
		stops, wet bool
		better     grading.GradeLabel
	}{
		"a good lot":               {lookedAt(goodHand), "", false, false, ""},
		"nobody looked at":         {unlooked, advice.LookFirst, false, false, ""},
		"chaff":                    {lookedAt(chaffyHand), advice.Winnow, false, false, "Grade 2"},
		"red rice":                 {lookedAt(redHand), advice.BetterSeed, false, false, ""},
		"mould":                    {lookedAt(chaffyHand, grading.Mouldy), advice.Quarantine, true, false, ""},
		"mould and water":          {lookedAt(chaffyHand, grading.TooWet, grading.Mouldy), advice.Quarantine, true, false, ""},
		"water by bite":            {lookedAt(goodHand, grading.TooWet), advice.DrySun, false, true, "Grade 1"},
		"live insects in the bags": {alive, advice.ClearInsects, false, false, ""},
	} {
		h := adviseByHand(t, c.readings)
		if h.Best.Remedy != c.remedy || h.Stops != c.stops || h.Wet != c.wet || h.Better != c.better {
			t.Errorf("%s: %q, stops %v, wet %v, then %q; want %+v", name, h.Best.Remedy, h.Stops, h.Wet, h.Better, c)
		}
		if h.Better != "" && (h.Chance < byhand.Enough || h.Chance <= h.Now || h.Chance > 1) {
			t.Errorf("%s: %s with %v, now %v", name, h.Better, h.Chance, h.Now)
		}
		if again := adviseByHand(t, c.readings); !reflect.DeepEqual(h, again) {
			t.Errorf("%s: another answer the second time", name)
		}
	}
}

// TestTheRemedyByHandIsMostlyWorthIt: fewer empty grains make it less sure that
// winnowing pays, until it is not advised.
func TestTheRemedyByHandIsMostlyWorthIt(t *testing.T) {
	before := 1.0
	for _, empty := range []uint16{40, 20, 6, 2} {
		h := chaffyHand
		h.Empty = empty
		got := adviseByHand(t, lookedAt(h))
		useful := got.Useful
		if got.Best.Remedy != advice.Winnow {
			useful = 0
		}
		if useful > before {
			t.Errorf("%d empty grains: winnowing is useful with %v, with more of them %v", empty, useful, before)
		}
		before = useful
	}
	if before != 0 {
		t.Error("winnowing is advised for two empty grains of 200")
	}
}

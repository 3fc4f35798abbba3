package grading_test

import (
	"math/rand/v2"
	"testing"

	"threshline/grading"
	"threshline/grading/standard"
	"threshline/grading/standard/standardtest"
)

// A value that fails a limit is not shown as the limit, and one that meets it is
// not shown beyond it: by every standard, all around every limit.
func TestAShownValueStandsOnItsSideOfEveryLimit(t *testing.T) {
	s, err := standardtest.ByID("mbuyu-hand")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ chaff, weight, want string }{
		{"2.0009", "200", "1.0005"}, // 1.00045 %: not 1.00, which meets the limit of 1
		{"2.008", "200", "1.004"},
		{"2.02", "200", "1.01"},
		{"1.9999", "200", "1.00"}, // meets it, and may be shown as the limit
		{"2", "200", "1.00"},
	} {
		var r grading.Readings
		r.Set(grading.SampleWeight, dec(t, c.weight))
		r.Set(grading.Chaff, dec(t, c.chaff))
		res, err := grading.Grade(s, r)
		if err != nil {
			t.Fatal(err)
		}
		p := res.Parameter("chaff")
		if got := p.Shown.Fixed(p.Decimals); got != c.want {
			t.Errorf("%s g of %s g is shown as %s %%, want %s", c.chaff, c.weight, got, c.want)
		}
	}
}

// What is shown grades as the readings do: by every standard that ships, for lots
// all around the limits.
func TestShownValuesGradeAsTheReadingsDo(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 16))
	all, err := standard.Builtin()
	if err != nil || len(all) == 0 {
		t.Fatalf("%d standards: %v", len(all), err)
	}
	for _, s := range all {
		for range 400 {
			r := standardtest.NearLimits(rng, s)
			res, err := grading.Grade(s, r)
			if err != nil {
				continue // parts that exceed their whole
			}
			again := grading.Readings{Class: r.Class, Words: r.Words, Flags: r.Flags, Values: map[grading.ParameterID]grading.Decimal{}}
			for _, p := range res.Parameters {
				if p.Measured && p.Unit != grading.Word {
					again.Values[p.ID] = p.Shown
				}
			}
			if back, err := grading.Grade(s, again); err == nil && back.Grade != res.Grade && len(res.Gates) == 0 {
				t.Fatalf("%s: %s by its readings, %s by the values that are shown: %v", s.ID, res.Grade, back.Grade, again.Values)
			}
		}
	}
}

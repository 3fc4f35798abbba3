package grading_test

import (
	"errors"
	"math"
	"slices"
	"testing"

	"threshline/grading"
	"threshline/grading/chance"
)

func combine(t *testing.T, texts ...string) grading.Combined {
	t.Helper()
	var checks []grading.Readings
	for _, text := range texts {
		checks = append(checks, read(t, text))
	}
	c, err := grading.Combine(agmark(t), checks...)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestTwoPansAreOneLargerPan: 2 of 100 and 1 of 100 grains are 3 of 200; the
// bounds are those of [NIST-PRC242] for the pooled count.
func TestTwoPansAreOneLargerPan(t *testing.T) {
	c := combine(t, `{"counted":100,"red":2,"other_variety":0}`, `{"counted":100,"red":1,"other_variety":0}`)
	res, err := chance.Assess(agmark(t), c.Readings, chance.Certainty{})
	if err != nil {
		t.Fatal(err)
	}
	v := res.Parameter("admixture")
	low, high, err := chance.Interval(3, 200, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	if v.Shown != dec(t, "1.5") || math.Abs(v.Low-100*low) > 1e-9 || math.Abs(v.High-100*high) > 1e-9 {
		t.Errorf("%s %% within %v to %v, want 1.5 within %v to %v", v.Shown, v.Low, v.High, 100*low, 100*high)
	}
}

// TestGramsWeighBySample: 0.4 g of 20 g and 1 g of 180 g are 1.4 g of 200 g,
// 0.7 %, and not the mean of 2 % and 0.56 %.
func TestGramsWeighBySample(t *testing.T) {
	c := combine(t, `{"sample_g":20,"chaff_g":0.4,"stones_g":0}`, `{"sample_g":180,"chaff_g":1,"stones_g":0}`)
	res, err := grading.Grade(agmark(t), c.Readings)
	if err != nil {
		t.Fatal(err)
	}
	if v := res.Parameter("foreign_matter"); v.Shown != dec(t, "0.7") {
		t.Errorf("foreign matter %s %%, want 0.70", v.Shown)
	}
}

// TestAPartlyMeasuredCheckIsNotZero: a check without its chaff is
// left out of the weighing, and its moisture and flags still count.
func TestAPartlyMeasuredCheckIsNotZero(t *testing.T) {
	c := combine(t, `{"moisture":[13,13.2],"sample_g":20,"chaff_g":0.4,"stones_g":0.1}`,
		`{"moisture":[13.7],"sample_g":50,"stones_g":0.1,"flags":["musty"],"live_weevils":1}`, `{"live_weevils":1,"flags":["musty"]}`)
	if !slices.Equal(c.Sieved, []int{0}) || c.Panned != nil || c.Checks != 3 {
		t.Errorf("sieved %v, panned %v of %d", c.Sieved, c.Panned, c.Checks)
	}
	if m, _ := c.Readings.Get(grading.SampleWeight); m != grading.NewDecimal(20) {
		t.Errorf("sample %s g, want 20", m)
	}
	if got := c.Readings.MeanMoisture().Round(1); got != dec(t, "13.3") {
		t.Errorf("moisture %s, want 13.3", got)
	}
	if w, _ := c.Readings.Get(grading.LiveWeevils); w != grading.NewDecimal(2) || !slices.Equal(c.Readings.Flags, []grading.Flag{grading.Musty}) {
		t.Errorf("weevils %s, flags %v", w, c.Readings.Flags)
	}
}

func TestDirectValuesAreAveraged(t *testing.T) {
	c := combine(t, `{"values":{"admixture":6,"moisture":13}}`, `{"values":{"admixture":7}}`)
	if c.Readings.Values["admixture"] != dec(t, "6.5") || c.Readings.Values["moisture"] != dec(t, "13") {
		t.Errorf("values %v", c.Readings.Values)
	}
}

func TestCombineRefusesWhatIsNotOneLot(t *testing.T) {
	if _, err := grading.Combine(agmark(t)); !errors.Is(err, grading.ErrCombine) {
		t.Errorf("no checks: %v", err)
	}
	_, err := grading.Combine(agmark(t), grading.Readings{Class: "round"}, grading.Readings{Class: "long_b"})
	if !errors.Is(err, grading.ErrCombine) {
		t.Errorf("two classes: %v", err)
	}
}

// TestOneCheckCombinesToItself: nothing is lost or added.
func TestOneCheckCombinesToItself(t *testing.T) {
	c := combine(t, soundLot)
	a, err := read(t, soundLot).MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	b, err := c.Readings.MarshalJSON()
	if err != nil || string(a) != string(b) {
		t.Errorf("%s\nwant %s (%v)", b, a, err)
	}
}

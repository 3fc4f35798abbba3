package grading_test

import (
	"errors"
	"testing"

	"threshline/grading"
)

// TestStonesInTwoParts: what fell through the sieve and what was picked, said
// apart, are stones together; one weight stays good.
func TestStonesInTwoParts(t *testing.T) {
	for _, c := range []struct{ in, stones, sand, fault string }{
		{`{"sample_g":200,"stones_g":"0.2+0.6"}`, "0.8", "0.2", ""},
		{`{"sample_g":200,"stones_g":0.8,"sand_g":0.2}`, "0.8", "0.2", ""},
		{`{"sample_g":200,"stones_g":0.8}`, "0.8", "", ""},
		{`{"sample_g":200,"stones_g":0}`, "0", "", ""},
		{`{"sample_g":200,"stones_g":"0+0"}`, "0", "0", ""},
		{`{"stones_g":"0.2+"}`, "", "", "stones_g"},
		{`{"stones_g":"0.8"}`, "", "", "stones_g"},
		{`{"stones_g":"-0.2+0.6"}`, "", "", "sand_g"},
		{`{"stones_g":0.8,"sand_g":0.9}`, "", "", "sand_g"},
	} {
		var r grading.Readings
		err := r.UnmarshalJSON([]byte(c.in))
		if err == nil {
			err = r.Check()
		}
		var input *grading.InputError
		var bounds *grading.RangeError
		switch {
		case errors.As(err, &input) && input.Field == c.fault, errors.As(err, &bounds) && bounds.Name() == c.fault:
			continue
		case err != nil || c.fault != "":
			t.Errorf("%s: %v, want a fault of %q", c.in, err, c.fault)
			continue
		}
		stones, _ := r.Get(grading.Stones)
		sand, apart := r.Get(grading.SandWeight)
		if stones.String() != c.stones || apart != (c.sand != "") || apart && sand.String() != c.sand {
			t.Errorf("%s: %s of which %s, %v", c.in, stones, sand, apart)
		}
	}
}

// TestSandAloneIsAFault: it is part of stones that nobody gave.
func TestSandAloneIsAFault(t *testing.T) {
	var r grading.Readings
	r.Set(grading.SandWeight, grading.One)
	var lone *grading.LoneError
	if err := r.CheckLone(); !errors.As(err, &lone) || lone.Whole != grading.Stones {
		t.Errorf("got %v", err)
	}
}

// TestSamplesAreTakenTogetherWhetherOrNotSandWasWeighedApart: what one of them
// does not tell apart, both together do not.
func TestSamplesAreTakenTogetherWhetherOrNotSandWasWeighedApart(t *testing.T) {
	sample := func(in string) (r grading.Readings) {
		if err := r.UnmarshalJSON([]byte(in)); err != nil {
			t.Fatal(err)
		}
		return r
	}
	apart, one := sample(`{"sample_g":200,"chaff_g":1,"stones_g":"0.2+0.6"}`), sample(`{"sample_g":100,"chaff_g":1,"stones_g":0.1}`)
	for _, c := range []struct {
		with grading.Readings
		sand string
	}{{apart, "0.4"}, {one, ""}} {
		both, err := grading.Combine(&grading.Standard{}, apart, c.with)
		sand, has := both.Readings.Get(grading.SandWeight)
		if err != nil || len(both.Sieved) != 2 || has != (c.sand != "") || has && sand.String() != c.sand {
			t.Errorf("%v, of %v, sand %s, %v", err, both.Sieved, sand, has)
		}
	}
}

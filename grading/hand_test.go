package grading_test

import (
	"encoding/json"
	"errors"
	"testing"

	"threshline/grading"
)

const byHand = `{"by_hand":{"grains":200,"empty":12,"stones":1,"green":6,"husked":50,"red":4,"bored":0,"discoloured":1,"handfuls":3}}`

func TestCountsByHandRoundTripAsJSON(t *testing.T) {
	for _, in := range []string{byHand, `{"by_hand":{"grains":150,"empty":0,"stones":0,"green":0}}`} {
		r := read(t, in)
		if b, err := json.Marshal(r); err != nil || string(b) != in {
			t.Errorf("%s became %s, %v", in, b, err)
		}
		other := r.Clone()
		if other.Hand.Empty++; r.Same(&other) {
			t.Errorf("%s is the same as with one more empty grain", in)
		}
	}
	if r := read(t, `{"by_hand":null}`); r.Hand.Made() {
		t.Error("null is a check by hand")
	}
}

func TestFaultyCountsByHandNameTheKey(t *testing.T) {
	for in, field := range map[string]string{
		`12`:              "by_hand",
		`{}`:              "by_hand",
		`{"grains":0}`:    "by_hand",
		`{"grains":5001}`: "by_hand.grains",
		`{"grains":200.5,"empty":1,"stones":0,"green":0}`:                                                "by_hand.grains",
		`{"grains":200,"empty":"1","stones":0,"green":0}`:                                                "by_hand.empty",
		`{"grains":200,"empty":1,"green":0}`:                                                             "by_hand.stones",
		`{"grains":200,"empty":1,"stones":0,"green":-1}`:                                                 "by_hand.green",
		`{"grains":200,"empty":1,"stones":0,"green":0,"husked":50,"red":1,"bored":0}`:                    "by_hand.discoloured",
		`{"grains":200,"empty":1,"stones":0,"green":0,"chaff":1}`:                                        "by_hand",
		`{"grains":200,"empty":1,"empty":2,"stones":0,"green":0}`:                                        "by_hand.empty",
		`{"grains":200,"empty":1,"stones":0,"green":null,"husked":50,"red":0,"bored":0,"discoloured":0}`: "by_hand.green",
	} {
		var r grading.Readings
		err := r.UnmarshalJSON([]byte(`{"by_hand":` + in + `}`))
		var fault *grading.InputError
		if !errors.As(err, &fault) || fault.Field != field {
			t.Errorf("%s: got %v, want a fault at %q", in, err, field)
		}
	}
}

func TestCountsByHandThatCannotBe(t *testing.T) {
	for fault, h := range map[grading.HandFault]grading.Hand{
		grading.HandNoGrains:   {Empty: 3},
		grading.HandTooMany:    {Grains: grading.MostByHand + 1},
		grading.HandPartsOver:  {Grains: 200, Empty: 150, Green: 51},
		grading.HandMostEmpty:  {Grains: 200, Empty: 101, Green: 99},
		grading.HandStonesOver: {Grains: 20, Stones: 21},
		grading.HandHuskedOver: {Grains: 60, Empty: 12, Husked: 50},
		grading.HandSeenOver:   {Grains: 200, Husked: 50, Red: 20, Bored: 20, Discoloured: 11},
		"":                     {Grains: 200, Empty: 100, Green: 100, Stones: 200, Husked: 50, Red: 20, Bored: 20, Discoloured: 10},
	} {
		got, is := h.Fault()
		if got != fault || is != (fault != "") {
			t.Errorf("%+v: fault %q, %v, want %q", h, got, is, fault)
		}
		r := grading.Readings{Hand: h}
		var refused *grading.HandError
		if err := r.Check(); errors.As(err, &refused) != is || is && refused.Fault != fault {
			t.Errorf("%+v: checked as %v", h, err)
		}
	}
	if len(grading.HandFaults()) != 7 {
		t.Error("HandFaults does not list all faults")
	}
}

func TestByHandIsWithoutScaleAndPan(t *testing.T) {
	for in, want := range map[string]bool{
		byHand: true,
		`{"live_weevils":2,"flags":["too_wet"],` + byHand[1:]: true,
		`{"moisture":13,` + byHand[1:]:                        true,
		`{"sample_g":20,` + byHand[1:]:                        false,
		`{"values":{"admixture":2},` + byHand[1:]:             false,
		`{"flags":[]}`: false,
	} {
		if r := read(t, in); r.ByHand() != want {
			t.Errorf("%s is by hand: %v", in, !want)
		}
	}
}

func TestTwoChecksByHandAreCombinedAsOneOfMoreHandfuls(t *testing.T) {
	one := read(t, byHand)
	both, err := grading.Combine(agmark(t), one, one)
	want := grading.Hand{Grains: 400, Empty: 24, Stones: 2, Green: 12, Husked: 100, Red: 8, Discoloured: 2, Handfuls: 6}
	if err != nil || both.Readings.Hand != want {
		t.Errorf("got %+v, %v", both.Readings.Hand, err)
	}
}

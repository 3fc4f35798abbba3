package grading_test

import (
	"errors"
	"maps"
	"slices"
	"testing"

	"threshline/grading"
)

// storedNumbers are the numbers under which stores hold readings, whatever the
// order of the work: a store that is opened reads nothing else. A new reading is
// added here; nothing here ever changes.
var storedNumbers = map[string]grading.Field{
	"moisture": 1, "sample_g": 2, "chaff_g": 3, "stones_g": 4, "clean_g": 5, "brown_g": 6, "immature_g": 7,
	"counted": 8, "pest_damaged": 9, "discoloured": 10, "red": 11, "other_variety": 12, "cracked": 13,
	"live_weevils": 14, "live_others": 15, "broken_g": 16, "sand_g": 17,
}

func TestFieldsKeepTheNumbersThatTheyAreStoredUnder(t *testing.T) {
	have := map[string]grading.Field{}
	for _, f := range grading.Fields() {
		if _, twice := have[f.String()]; twice {
			t.Errorf("%s stands twice in the table", f)
		}
		have[f.String()] = f
		if back, ok := grading.ParseField(f.String()); !ok || back != f {
			t.Errorf("ParseField(%q) is %d, want %d", f, back, f)
		}
	}
	if !maps.Equal(have, storedNumbers) {
		t.Errorf("numbers of the fields\n%v\nwant\n%v", have, storedNumbers)
	}
	if highest := slices.Max(grading.Fields()); highest != grading.FieldEnd-1 || grading.FieldEnd > 64 {
		t.Errorf("FieldEnd is %d, want %d, and at most 64", grading.FieldEnd, highest+1)
	}
}

// TestEveryFieldIsWhole holds each row of the table to what the rest of the
// program takes from it: a reading that lacks something is named.
func TestEveryFieldIsWhole(t *testing.T) {
	for _, f := range grading.Fields() {
		if f.Group() < grading.Water || f.Group() > grading.Insects {
			t.Errorf("%s belongs to no group: it cannot be combined", f)
		}
		asked := slices.Contains([]string{"moisture", "sample", "dirt", "husk", "pan", "insects"}, f.Screen())
		if !asked && f != grading.Counted { // which comes with the pan
			t.Errorf("no screen asks for %s", f)
		}
		if asked && f.Example() == "" {
			t.Errorf("%s shows no example of an entry", f)
		}
		if f.Group() == grading.Pan && f != grading.Counted && f.Of() != grading.Counted {
			t.Errorf("%s lies on the pan but is no part of what was counted", f)
		}
	}
	if got := grading.FlagsOn("seen"); len(got) != 4 || len(grading.Flags()) != 7 {
		t.Errorf("the dialogue asks for %q of %q", got, grading.Flags())
	}
}

// TestCombineCarriesEveryField: what two checks of a lot measured is in what
// they give together, whatever it is.
func TestCombineCarriesEveryField(t *testing.T) {
	for _, f := range grading.Fields() {
		var one grading.Readings
		for _, whole := range []grading.Field{grading.SampleWeight, grading.CleanWeight, grading.BrownWeight, grading.Counted} {
			one.Set(whole, 100*grading.One)
		}
		one.Set(f, 3*grading.One)
		both, err := grading.Combine(&grading.Standard{}, one, one)
		want := 6 * grading.One
		if f == grading.Moisture {
			want = 3 * grading.One
		}
		if got, ok := both.Readings.Get(f); err != nil || !ok || got != want {
			t.Errorf("%s: %s, %v, %v, want %s", f, got, ok, err, want)
		}
	}
}

// TestEveryCountOfThePanIsHeldAgainstIt: more of anything than was counted
// cannot be, and is asked back.
func TestEveryCountOfThePanIsHeldAgainstIt(t *testing.T) {
	for _, f := range grading.FieldsOf(grading.Pan) {
		if f == grading.Counted {
			continue
		}
		var r grading.Readings
		r.Set(grading.Counted, 100*grading.One)
		r.Set(f, 101*grading.One)
		doubts := grading.Doubts(nil, r)
		if !slices.ContainsFunc(doubts, func(d grading.Doubt) bool { return d.ID == grading.CountOver && d.Again == f }) {
			t.Errorf("101 of 100 are %s: no doubt in %v", f, doubts)
		}
		var over *grading.RangeError
		if err := r.Check(); !errors.As(err, &over) || over.Field != f || over.Over != grading.Counted {
			t.Errorf("101 of 100 are %s: %v", f, err)
		}
	}
}

package grading_test

import (
	"errors"
	"testing"

	"threshline/grading"
	"threshline/grading/standard"
)

func read(t testing.TB, in string) grading.Readings {
	t.Helper()
	var r grading.Readings
	if err := r.UnmarshalJSON([]byte(in)); err != nil {
		t.Fatalf("%s: %v", in, err)
	}
	return r
}

func agmark(t testing.TB) *grading.Standard {
	t.Helper()
	s, err := standard.ByID("agmark-paddy")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestReadingsThatCannotBe(t *testing.T) {
	for _, row := range []struct {
		in, field, got, least, most string
		over                        grading.Field
	}{
		{`{"moisture":[13,-1]}`, "moisture", "-1", "0", "100", 0},
		{`{"moisture":[13,200]}`, "moisture", "200", "0", "100", 0},
		{`{"sample_g":0}`, "sample_g", "0", "0.0001", "10000", 0},
		{`{"sample_g":10000.1}`, "sample_g", "10000.1", "0.0001", "10000", 0},
		{`{"chaff_g":-0.1}`, "chaff_g", "-0.1", "0", "10000", 0},
		{`{"counted":0}`, "counted", "0", "1", "100000", 0},
		{`{"live_weevils":-1}`, "live_weevils", "-1", "0", "100000", 0},
		{`{"sample_g":20,"chaff_g":12,"stones_g":9}`, "chaff_g", "21", "0", "20", grading.SampleWeight},
		{`{"sample_g":20,"stones_g":21}`, "stones_g", "21", "0", "20", grading.SampleWeight},
		{`{"sample_g":20,"clean_g":20.1}`, "clean_g", "20.1", "0", "20", grading.SampleWeight},
		{`{"clean_g":19,"brown_g":19.1}`, "brown_g", "19.1", "0", "19", grading.CleanWeight},
		{`{"sample_g":20,"brown_g":21}`, "brown_g", "21", "0", "20", grading.SampleWeight},
		{`{"brown_g":15,"immature_g":15.1}`, "immature_g", "15.1", "0", "15", grading.BrownWeight},
		{`{"counted":100,"red":101}`, "red", "101", "0", "100", grading.Counted},
	} {
		r := read(t, row.in)
		var fault *grading.RangeError
		if err := r.Check(); !errors.As(err, &fault) {
			t.Errorf("%s: got %v", row.in, err)
			continue
		}
		if fault.Name() != row.field || fault.Got.String() != row.got || fault.Over != row.over ||
			fault.Min.String() != row.least || fault.Max.String() != row.most {
			t.Errorf("%s: got %+v", row.in, *fault)
		}
	}
}

func TestReadingsThatCanBe(t *testing.T) {
	for _, in := range []string{
		`{}`, `{"moisture":[0,100]}`, `{"sample_g":20,"chaff_g":0,"stones_g":20}`,
		`{"chaff_g":21}`, `{"red":7}`, `{"counted":100,"red":100,"cracked":100}`,
		`{"sample_g":20,"clean_g":20,"brown_g":20,"immature_g":20}`, `{"live_others":100000}`,
	} {
		r := read(t, in)
		if err := r.Check(); err != nil {
			t.Errorf("%s: %v", in, err)
		}
	}
}

func TestHalfAGrainIsRefused(t *testing.T) {
	r := read(t, `{"counted":100,"red":1.5}`)
	var fault *grading.WholeError
	if err := r.Check(); !errors.As(err, &fault) || fault.Field != grading.Red || fault.Got.String() != "1.5" {
		t.Errorf("got %v", err)
	}
}

func TestTooManyRepeatsAreRefused(t *testing.T) {
	r := grading.Readings{Repeats: make([]grading.Decimal, grading.MaxRepeats+1)}
	var fault *grading.RangeError
	if err := r.Check(); !errors.As(err, &fault) || fault.Field != grading.Moisture {
		t.Errorf("got %v", err)
	}
}

// The OR-rule of live insects. Source: [CFR-868 §868.212]: two weevils, or one
// weevil and another insect, or five others; not one weevil, not four others.
func TestInsectRule(t *testing.T) {
	rule := grading.InsectRule{Weevils: 2, WithWeevil: 1, Others: 5}
	for _, row := range []struct {
		weevils, others int
		want            bool
	}{
		{2, 0, true}, {1, 1, true}, {0, 5, true}, {1, 0, false}, {0, 4, false}, {0, 0, false}, {3, 9, true},
	} {
		if got := rule.Holds(row.weevils, row.others); got != row.want {
			t.Errorf("%d weevils and %d others: %v", row.weevils, row.others, got)
		}
	}
	if none := (grading.InsectRule{}); none.Holds(100, 100) {
		t.Error("a rule of noughts holds")
	}
}

// A clone shares nothing with what it was cloned from.
func TestCloneSharesNothing(t *testing.T) {
	r := read(t, wholeInput)
	before, err := r.MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	c := r.Clone()
	c.Repeats[0], c.Flags[0] = 0, "other"
	c.Values["admixture"], c.Words["colour"] = 0, "other"
	c.Set(grading.Red, 0)
	c.Unset(grading.Moisture)
	if after, _ := r.MarshalJSON(); string(after) != string(before) {
		t.Errorf("%s became %s", before, after)
	}
	if c.Has(grading.Moisture) {
		t.Error("an unset field is still there")
	}
}

// The mean is exact: 41.8/3 is no decimal, and is compared as a fraction.
func TestMeanOfRepeats(t *testing.T) {
	r := read(t, `{"moisture":[13.8,14.1,13.9]}`)
	if m := r.MeanMoisture(); m.Cmp(dec(t, "13.9333")) != 1 || m.Cmp(dec(t, "13.9334")) != -1 {
		t.Errorf("mean is %v", m)
	}
	if d, ok := r.Get(grading.Moisture); !ok || d.String() != "13.9333" {
		t.Errorf("got %s", d)
	}
}

func TestFieldNames(t *testing.T) {
	if len(grading.Fields()) == 0 {
		t.Fatal("no fields")
	}
	for _, f := range grading.Fields() {
		if back, ok := grading.ParseField(f.String()); !ok || back != f {
			t.Errorf("%s is read as %s", f, back)
		}
	}
	if f, ok := grading.ParseField(""); ok || f != grading.NoField {
		t.Errorf("no name is read as %s", f)
	}
}

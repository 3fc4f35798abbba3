package grading_test

import (
	"encoding/json"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"threshline/grading"
)

const wholeInput = `{"moisture":[13.8,14.1,13.9],"sample_g":200,"chaff_g":2.4,"stones_g":0.6,"clean_g":196.9,` +
	`"brown_g":155.2,"immature_g":1.1,"counted":100,"pest_damaged":0,"discoloured":1,"red":2,` +
	`"values":{"admixture":6,"broken":0.175},"words":{"colour":"light gray"},"flags":["musty"],"class":"long"}`

func TestReadingsRoundTripAsJSON(t *testing.T) {
	var r grading.Readings
	if err := json.Unmarshal([]byte(wholeInput), &r); err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(wholeInput, string(b)); diff != "" {
		t.Error(diff)
	}
	if d, ok := r.Get(grading.PestDamaged); !ok || d != 0 {
		t.Error("a measured zero is not there")
	}
	if r.Has(grading.Cracked) {
		t.Error("what was not measured is there")
	}
}

func TestReadingsInOtherForms(t *testing.T) {
	for in, want := range map[string]string{
		`{}`: `{}`,
		`{"moisture":14.0,"red":null,"values":null}`: `{"moisture":[14]}`,
		`{"moisture":[]}`:                   `{}`,
		` { "class" : "a\"b" , "red" : 0 }`: `{"red":0,"class":"a\"b"}`,
	} {
		var r grading.Readings
		if err := json.Unmarshal([]byte(in), &r); err != nil {
			t.Errorf("%s: %v", in, err)
			continue
		}
		if b, err := json.Marshal(r); err != nil || string(b) != want {
			t.Errorf("%s became %s, %v", in, b, err)
		}
	}
}

func TestFaultyReadingsNameTheKey(t *testing.T) {
	for in, field := range map[string]string{
		`{"moistur":[13.8]}`:             "moistur",
		`{"bags":8}`:                     "bags",
		`{"red":2,"red":3}`:              "red",
		`{"red":"2"}`:                    "red",
		`{"red":[2]}`:                    "red",
		`{"red":1e1}`:                    "red",
		`{"moisture":[13.8,"x"]}`:        "moisture",
		`{"moisture":{}}`:                "moisture",
		`{"sample_g":200.00001}`:         "sample_g",
		`{"values":{"b":0.1,"a":1e400}}`: "values.a",
		`{"values":[1]}`:                 "values",
		`{"words":{"colour":1}}`:         "words",
		`{"flags":"musty"}`:              "flags",
		`{"class":1}`:                    "class",
		`[]`:                             "",
		`12`:                             "",
	} {
		var r grading.Readings
		err := r.UnmarshalJSON([]byte(in))
		var fault *grading.InputError
		if !errors.As(err, &fault) || fault.Field != field {
			t.Errorf("%s: got %v, want a fault at %q", in, err, field)
		}
	}
}

func TestBrokenJSONIsNeverReadings(t *testing.T) {
	for cut := 1; cut < len(wholeInput); cut++ {
		_, _, err := grading.ReadJSON(json.NewDecoder(strings.NewReader(wholeInput[:cut])))
		if err == nil || err == io.EOF {
			t.Fatalf("the first %d bytes gave %v", cut, err)
		}
	}
}

func TestReadJSONKeepsWhatIsNotReadings(t *testing.T) {
	dec := json.NewDecoder(strings.NewReader(`{"bags":8,"red":1,"kg":600.5}` + "\n" + `{"red":2}`))
	_, extra, err := grading.ReadJSON(dec)
	if err != nil || string(extra["bags"]) != "8" || string(extra["kg"]) != "600.5" || len(extra) != 2 {
		t.Fatalf("got %v, %v", extra, err)
	}
	r, extra, err := grading.ReadJSON(dec)
	if d, _ := r.Get(grading.Red); err != nil || extra != nil || d != 2*grading.One {
		t.Fatalf("got %v, %v, %v", d, extra, err)
	}
	if _, _, err := grading.ReadJSON(dec); err != io.EOF {
		t.Fatalf("got %v at the end", err)
	}
}

// TestNoFlagsIsNotNothingSeen: who writes an empty list looked, who writes none
// did not, and both come back as they were written.
func TestNoFlagsIsNotNothingSeen(t *testing.T) {
	for in, want := range map[string]grading.Looked{
		`{"moisture":[13]}`: grading.NotRecorded, `{"moisture":[13],"flags":null}`: grading.NotRecorded,
		`{"moisture":[13],"flags":[]}`: grading.WasLooked, `{"moisture":[13],"flags":["mouldy"]}`: grading.WasLooked,
	} {
		var r, again grading.Readings
		if err := json.Unmarshal([]byte(in), &r); err != nil || r.Looked != want {
			t.Errorf("%s: looked %d, %v; want %d", in, r.Looked, err, want)
		}
		out, err := json.Marshal(r)
		if err == nil {
			err = json.Unmarshal(out, &again)
		}
		if err != nil || !again.Same(&r) {
			t.Errorf("%s: written as %s, %v", in, out, err)
		}
	}
}

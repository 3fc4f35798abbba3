package standard_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"threshline/grading"
)

// handLot is one lot as hands measured it, with what it has to come to and where
// that is written.
type handLot struct {
	Case, Source, Standard string
	In                     json.RawMessage
	Grade                  grading.GradeLabel
	Complete               bool
	Values                 map[grading.ParameterID]string
	Field                  string // at fault
}

// TestLotsAsHandsMeasureThem: each with its source beside it.
func TestLotsAsHandsMeasureThem(t *testing.T) {
	b, err := os.ReadFile(filepath.Join("..", "..", "testdata", "grading", "hands.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	for line := range bytes.Lines(b) {
		var l handLot
		if err := json.Unmarshal(line, &l); err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		t.Run(l.Case, func(t *testing.T) { l.check(t) })
	}
}

func (l *handLot) check(t *testing.T) {
	if !strings.HasPrefix(l.Source, "[") {
		t.Error("no source")
	}
	var r grading.Readings
	if err := r.UnmarshalJSON(l.In); err != nil {
		t.Fatal(err)
	}
	res, err := grading.Grade(load(t, l.Standard), r)
	if l.Field != "" {
		var lone *grading.LoneError
		if !errors.As(err, &lone) || lone.Whole.String() != l.Field {
			t.Errorf("got %v, want a fault of %s", err, l.Field)
		}
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	if res.Grade != l.Grade || res.Complete != l.Complete {
		t.Errorf("got %q, complete %v, missing %q", res.Grade, res.Complete, res.Missing)
	}
	for id, want := range l.Values {
		if p := res.Parameter(id); p.Shown.Fixed(p.Decimals) != want {
			t.Errorf("%s is %s, want %s", id, p.Shown.Fixed(p.Decimals), want)
		}
	}
}

// TestAStandardSaysWhatItComparesAMeterAt: a standard that says that it does not
// round keeps that, and one that says nothing takes the programme's step.
func TestAStandardSaysWhatItComparesAMeterAt(t *testing.T) {
	in := `{"moisture":[14.0,14.0,14.1],"values":{"foreign_matter":0,"admixture":0,"damaged_immature_weevilled":0}}`
	exact := *load(t, "agmark-paddy")
	exact.MeterStep = 0 // as round_first = false
	for _, row := range []struct {
		name string
		s    *grading.Standard
		want grading.GradeLabel
	}{
		{"says nothing", load(t, "agmark-paddy"), "I"},
		{"a meter of 0.5", load(t, "agmark-paddy").WithMeterStep(grading.One / 2), "I"},
		{"a meter of 0.01", load(t, "agmark-paddy").WithMeterStep(grading.One / 100), "out of grade"},
		{"does not round", exact.WithMeterStep(grading.One / 2), "out of grade"},
	} {
		if res := gradeJSON(t, row.s, in); res.Grade != row.want {
			t.Errorf("%s: got %q, want %q", row.name, res.Grade, row.want)
		}
	}
}

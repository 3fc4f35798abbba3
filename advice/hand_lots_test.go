package advice_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/byhand"
	"threshline/grading/standard/standardtest"
)

// countedLot is a lot counted by hand, with what has to be said of it and where
// that rests. Shows is what each count shows by itself, %, worked out on paper.
type countedLot struct {
	Case, Source, Standard string
	Bags                   int
	In                     json.RawMessage
	Shows                  map[string]float64
	Likely                 []grading.GradeLabel
	OnceDry                bool `json:"once_dry"`
	Stops                  bool
	Remedy                 advice.RemedyID
	Then                   grading.GradeLabel
	Fault                  grading.HandFault
}

func TestLotsCountedByHand(t *testing.T) {
	b, err := os.ReadFile(filepath.Join("..", "testdata", "grading", "by_hand.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	for line := range bytes.Lines(b) {
		var l countedLot
		if err := json.Unmarshal(line, &l); err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		t.Run(l.Case, func(t *testing.T) { l.check(t) })
	}
}

func (l *countedLot) check(t *testing.T) {
	if !strings.HasPrefix(l.Source, "[") {
		t.Error("no source")
	}
	var r grading.Readings
	if err := r.UnmarshalJSON(l.In); err != nil {
		t.Fatal(err)
	}
	s, err := standardtest.ByID(l.Standard)
	if err != nil {
		t.Fatal(err)
	}
	likely, err := byhand.Assess(s, &r, byhand.Options{Bags: l.Bags})
	if l.Fault != "" {
		var fault *grading.HandError
		if !errors.As(err, &fault) || fault.Fault != l.Fault {
			t.Errorf("got %v, want %s", err, l.Fault)
		}
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range likely.Counts {
		if want, ok := l.Shows[c.Field.String()]; ok && math.Abs(c.Shows-want) > 0.006 {
			t.Errorf("%s shows %.3f %%, want %v", c.Field, c.Shows, want)
		}
	}
	h := advice.ByHand(advice.Case{Standard: s, Readings: r, KG: grading.NewDecimal(50 * l.Bags), At: time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)}, &likely)
	if h.Stops != l.Stops || h.Best.Remedy != l.Remedy || h.Better != l.Then {
		t.Errorf("stops %v, remedy %q, then %q with %.2f; want %v, %q, %q", h.Stops, h.Best.Remedy, h.Better, h.Chance, l.Stops, l.Remedy, l.Then)
	}
	if len(l.Likely) == 0 {
		return
	}
	var got []grading.GradeLabel
	for rank := likely.From; rank <= likely.To; rank++ {
		got = append(got, append(labels(s), s.OutOfGrade)[rank-1])
	}
	if !slices.Equal(got, l.Likely) || likely.IfDry != l.OnceDry {
		t.Errorf("likely %q with %.2f, once dry %v; want %q, %v", got, likely.Chance, likely.IfDry, l.Likely, l.OnceDry)
	}
}

func labels(s *grading.Standard) (out []grading.GradeLabel) {
	for i := range s.Grades {
		out = append(out, s.Grades[i].Label)
	}
	return out
}

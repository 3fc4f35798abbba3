package report

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"threshline/grading/standard/standardtest"
	"threshline/session/wording"
)

// TestALaboratorysPortions: what its kit shows by `grade`, each case with its source.
func TestALaboratorysPortions(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("..", "..", "..", "testdata", "grading", "lab.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	words, err := wording.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	for line := range bytes.Lines(data) {
		var c struct {
			Case, Source, Standard string
			In                     json.RawMessage
			Has                    []string
		}
		if err := json.Unmarshal(line, &c); err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		s, err := standardtest.ByID(c.Standard)
		if err != nil || !strings.HasPrefix(c.Source, "[") {
			t.Fatalf("%s: %v, source %q", c.Case, err, c.Source)
		}
		var out bytes.Buffer
		g := Grader{Standard: s, Words: words, Form: JSON}
		if _, err := g.All(bytes.NewReader(c.In), &out); err != nil {
			t.Fatal(err)
		}
		for _, want := range c.Has {
			if !strings.Contains(out.String(), want) {
				t.Errorf("%s: no %s in %s", c.Case, want, out.String())
			}
		}
	}
}

// TestThePageAndTheLinesSayWhatALaboratoryFound, how portions repeat, and that the
// standard takes more samples.
func TestThePageAndTheLinesSayWhatALaboratoryFound(t *testing.T) {
	s, err := standardtest.ByID("inpres-3-2012")
	if err != nil {
		t.Fatal(err)
	}
	words, err := wording.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	const one = `{"sample_g":200,"chaff_g":0.4,"stones_g":0.2,"lab":[{"wet_g":5,"dry_g":4.3,"paddy_g":100,"head_g":55},{"wet_g":5,"dry_g":4.31,"paddy_g":100,"head_g":56}]}`
	for _, form := range []Form{Lines, Page} {
		var out bytes.Buffer
		g := Grader{Standard: s, Words: words, Form: form}
		if _, err := g.All(strings.NewReader(one), &out); err != nil {
			t.Fatal(err)
		}
		text := strings.Join(strings.Fields(out.String()), " ")
		for _, want := range []string{"moisture", "13.9 %", "the mean of 3 is wanted", "55.5 %", "no repeatability of it was read in any text", "takes the mean of 3 samples, 1 given"} {
			if !strings.Contains(text, want) {
				t.Errorf("form %d does not say %q: %s", form, want, text)
			}
		}
	}
	var out bytes.Buffer
	g := Grader{Standard: s, Words: words, Form: JSON}
	three := strings.Repeat(`{"moisture":13.8,"sample_g":200,"chaff_g":0.4,"stones_g":0.2}`, 3)
	if _, err := g.Together(strings.NewReader(three), &out); err != nil || strings.Contains(out.String(), "short_of_samples") {
		t.Errorf("three samples are too few: %v, %s", err, out.String())
	}
}

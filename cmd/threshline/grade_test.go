package main

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"threshline/cmd/threshline/demo"
	"threshline/grading/standard/standardtest"
)

// aLot is a lot of grade II by foreign matter and admixture.
const aLot = `{"moisture":[13.2,13.1,13.3],"sample_g":200,"chaff_g":2.4,"stones_g":0.6,"clean_g":196.9,"brown_g":155.2,"immature_g":1.1,
	"counted":100,"pest_damaged":0,"discoloured":0,"red":2,"other_variety":1,"values":{"admixture":6.0},"bags":8,"kg":600}`

func gradeText(t testing.TB, cmd gradeCmd, in string) (string, error) {
	t.Helper()
	var out bytes.Buffer
	cmd.File = "-"
	err := cmd.Run(stdio{in: strings.NewReader(in), out: &out, err: io.Discard})
	return out.String(), err
}

func TestGradeWant(t *testing.T) {
	if _, err := gradeText(t, gradeCmd{Want: "II"}, aLot); err != nil {
		t.Errorf("the grade that was wanted: %v", err)
	}
	if _, err := gradeText(t, gradeCmd{Want: "I"}, aLot); err == nil || !strings.Contains(err.Error(), "1 of 1 lots") {
		t.Errorf("another grade than was wanted: %v", err)
	}
	if _, err := gradeText(t, gradeCmd{Want: "V"}, aLot); err == nil || !strings.Contains(err.Error(), "no grade") {
		t.Errorf("a grade that the standard has not: %v", err)
	}
}

func TestStandardsWarnsOfWhatIsRecalled(t *testing.T) {
	var list, one bytes.Buffer
	if err := (&standardsCmd{}).Run(stdio{out: &list}); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"  agmark-paddy       published", "! us-rough-rice      from memory", "! recalled"} {
		if !strings.Contains(list.String(), want) {
			t.Errorf("the list lacks %q:\n%s", want, &list)
		}
	}
	if err := (&standardsCmd{ID: "us-rough-rice"}).Run(stdio{out: &one}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(one.String(), "WARNING: the limits are recalled") {
		t.Errorf("no warning:\n%s", &one)
	}
	if err := (&standardsCmd{ID: "no-such"}).Run(stdio{out: io.Discard}); err == nil {
		t.Error("an unknown standard is printed")
	}
}

// TestGradeIsTheSameOnEveryRun: a list of lots gives the same bytes again, from
// a file as from standard input.
func TestGradeIsTheSameOnEveryRun(t *testing.T) {
	lots := []byte(strings.Repeat(strings.ReplaceAll(aLot, "\n", " ")+"\n", 3))
	path := filepath.Join(t.TempDir(), "lots.jsonl")
	if err := os.WriteFile(path, lots, 0o600); err != nil {
		t.Fatal(err)
	}
	first, err := gradeText(t, gradeCmd{JSON: true, Remedy: true}, string(lots))
	if err != nil || strings.Count(first, "\n") != 3 {
		t.Fatalf("%v, %d lines", err, strings.Count(first, "\n"))
	}
	var again bytes.Buffer
	cmd := gradeCmd{JSON: true, Remedy: true, File: path}
	if err := cmd.Run(stdio{out: &again}); err != nil || again.String() != first {
		t.Errorf("%v; the second run differs", err)
	}
}

// TestGradeByAProgramme takes standard, prices and currency from a
// configuration, and a standard from a file.
func TestGradeByAProgramme(t *testing.T) {
	lot := `{"moisture":[13.2,13.1,13.3],"sample_g":200,"chaff_g":5,"stones_g":0.2,"brown_g":155,"immature_g":1,
		"counted":100,"pest_damaged":0,"discoloured":0,"red":0,"live_weevils":0,"live_others":0,"kg":600}`
	table, err := standardtest.Path()
	if err != nil {
		t.Fatal(err)
	}
	config := filepath.Join(t.TempDir(), "valley.toml")
	if err := os.WriteFile(config, bytes.Replace(demo.Config, []byte(`"mbuyu-hand"`), []byte(strconv.Quote(table)), 1), 0o600); err != nil {
		t.Fatal(err)
	}
	text, err := gradeText(t, gradeCmd{JSON: true, Remedy: true, Config: config}, lot)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(text, `"standard":"mbuyu-hand"`) || !strings.Contains(text, `"grade":"Grade 3"`) || !regexp.MustCompile(`"gain":"[0-9]+ MVS"`).MatchString(text) {
		t.Error(text)
	}
	text, err = gradeText(t, gradeCmd{JSON: true, Config: config, Standard: "../../grading/standard/agmark-paddy.toml"}, lot)
	if err != nil || !strings.Contains(text, `"standard":"agmark-paddy"`) {
		t.Errorf("a standard's file: %v, %s", err, text)
	}
}

// TestGradeOneLot answers once for all samples, and not at all when one cannot be.
func TestGradeOneLot(t *testing.T) {
	text, err := gradeText(t, gradeCmd{JSON: true, OneLot: true}, aLot+"\n"+aLot)
	if err != nil || strings.Count(text, "\n") != 1 {
		t.Errorf("%v, %s", err, text)
	}
	if text, err = gradeText(t, gradeCmd{JSON: true, OneLot: true}, aLot+"\n[1]"); !errors.Is(err, errSaid) || strings.Count(text, "\n") != 1 {
		t.Errorf("a sample that cannot be: %v, %s", err, text)
	}
	if _, err := gradeText(t, gradeCmd{JSON: true}, aLot+"\n[1]"); !errors.Is(err, errSaid) {
		t.Errorf("a lot that cannot be: %v, want an error that is already said", err)
	}
}

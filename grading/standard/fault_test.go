package standard_test

import (
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/cockroachdb/datadriven"

	"threshline/grading"
	"threshline/grading/standard"
)

var dataDir = filepath.Join("..", "..", "testdata", "standard")

func goodFile(t testing.TB) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dataDir, "good.toml"))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// shortened says "every weight" and "every count" for the lists of them, which grow.
func shortened(text string) string {
	lists := map[grading.FieldKind][]string{}
	for _, f := range grading.Fields() {
		lists[f.Kind()] = append(lists[f.Kind()], strconv.Quote(f.String()))
	}
	text = strings.ReplaceAll(text, strings.Join(lists[grading.WeightField], ", "), "(every weight)")
	return strings.ReplaceAll(text, strings.Join(lists[grading.CountField], ", "), "(every count)")
}

// What a person is told about a faulty file. In each case one line of
// good.toml, the first of the input, is replaced by the lines after it.
func TestFaultsOfAFile(t *testing.T) {
	good := goodFile(t)
	if _, err := standard.Load("good.toml", []byte(good), nil); err != nil {
		t.Fatalf("the good file is faulty: %v", err)
	}
	cases := 0
	datadriven.RunTest(t, filepath.Join(dataDir, "faults.txt"), func(t *testing.T, d *datadriven.TestData) string {
		cases++
		old, lines, _ := strings.Cut(d.Input, "\n")
		text := d.Input
		if d.Cmd == "replace" {
			if strings.Count(good, old+"\n") == 0 {
				t.Fatalf("%s: good.toml has no line %q", d.Pos, old)
			}
			text = strings.Replace(good, old+"\n", lines+"\n", 1)
		}
		_, err := standard.Load("valley.toml", []byte(text), standard.ByID)
		if err == nil {
			return "no fault"
		}
		var faults standard.Faults
		if !errors.As(err, &faults) || len(faults) == 0 {
			t.Fatalf("%s: the error is %T", d.Pos, err)
		}
		for _, f := range faults {
			if f.File != "valley.toml" || f.Line < 1 || f.Line > strings.Count(text, "\n")+1 || f.Want == "" {
				t.Errorf("%s: the fault says too little: %+v", d.Pos, f)
			}
		}
		return shortened(err.Error()) + "\n"
	})
	if cases < 40 {
		t.Fatalf("only %d cases found", cases)
	}
}

func TestAnUnknownIDIsExplained(t *testing.T) {
	_, err := standard.ByID("agmark-pady")
	if !errors.Is(err, standard.ErrUnknown) || !strings.Contains(err.Error(), `did you mean "agmark-paddy"?`) {
		t.Errorf("got %v", err)
	}
	if _, err := standard.ByID("../standard/agmark-paddy"); !errors.Is(err, standard.ErrUnknown) {
		t.Errorf("got %v", err)
	}
}

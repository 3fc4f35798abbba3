package standard_test

import (
	"errors"
	"os"
	"slices"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/grading/standard"
)

// documented are the complete files in FORMAT.md.
func documented(t *testing.T) (text string, files []string) {
	t.Helper()
	b, err := os.ReadFile("FORMAT.md")
	if err != nil {
		t.Fatal(err)
	}
	for i, part := range strings.Split(string(b), "```toml\n") {
		if i > 0 {
			file, _, _ := strings.Cut(part, "```")
			files = append(files, file)
		}
	}
	if len(files) != 2 {
		t.Fatalf("FORMAT.md holds %d files, want two", len(files))
	}
	return string(b), files
}

func TestTheDocumentedExampleGradesAsTheTextSays(t *testing.T) {
	_, files := documented(t)
	s, err := standard.Load("FORMAT.md", []byte(files[0]), nil)
	if err != nil {
		t.Fatal(err)
	}
	in := `{"class":"short","moisture":13.2,"sample_g":200,"chaff_g":3.0,"stones_g":0.6,"counted":100,"red":7,"words":{"colour":"gray"}}`
	res := gradeJSON(t, s, in)
	if res.Grade != "B" || !res.Complete {
		t.Errorf("got %q, missing %q", res.Grade, res.Missing)
	}
	for id, want := range map[grading.ParameterID]string{"foreign_matter": "1.80", "stones": "0.30", "purity": "98.20", "red": "7.0"} {
		if p := res.Parameter(id); p.Shown.Fixed(p.Decimals) != want {
			t.Errorf("%s is %s, want %s", id, p.Shown.Fixed(p.Decimals), want)
		}
	}
	long := gradeJSON(t, s, strings.Replace(in, "short", "long", 1))
	if long.Grade != "Below grade" || !slices.Equal(long.Deciding, []grading.ParameterID{"red"}) {
		t.Errorf("long: got %q by %q", long.Grade, long.Deciding)
	}
	if got := total(grading.Adjustments(s, &res), "weight").Round(2).String(); got != "0.5" {
		t.Errorf("the weight changes by %s %%, want 0.5", got)
	}
}

func TestTheDocumentedRelaxation(t *testing.T) {
	_, files := documented(t)
	s, err := standard.Load("FORMAT.md", []byte(files[1]), standard.ByID)
	if err != nil {
		t.Fatal(err)
	}
	parent := load(t, "in-kms")
	for moisture, want := range map[string]string{"17": "FAQ FAQ", "19": "FAQ not FAQ", "19.01": "not FAQ not FAQ"} {
		in := `{"values":{"moisture":` + moisture + `}}`
		a, b := gradeJSON(t, s, in), gradeJSON(t, parent, in)
		if got := string(a.Grade + " " + b.Grade); got != want {
			t.Errorf("at %s %%: %q, want %q", moisture, got, want)
		}
	}
	if s.Parent != "in-kms" || s.Country != "IN" || len(s.Parameters) != len(parent.Parameters) {
		t.Errorf("what is not named is not the parent's: %+v", s)
	}
}

// Every key and fixed word that the loader accepts is on the page. The loader
// is asked itself: a key or word that nobody knows is answered with the known
// ones.
func TestTheDocumentNamesEveryKey(t *testing.T) {
	text, _ := documented(t)
	const odd = "qqqqqqqqqqqqqqqqqqqqqqqqqqqq"
	good := goodFile(t) + "[matrix]\n" + odd + " = 1\n"
	for _, ask := range []struct{ old, new string }{
		{"[matrix]", "[matrix]"},
		{"rule = \"worst\"", "rule = \"" + odd + "\""},
		{"rule = \"worst\"", odd + " = 1"},
		{"status = \"demo\"", "status = \"" + odd + "\""},
		{"unit = \"% weight\"", "unit = \"" + odd + "\"\n" + odd + " = 1"},
		{"basis = \"sample\"", "basis = \"" + odd + "\""},
		{"mean = [\"moisture\"]", odd + " = 1, weight = [\"" + odd + "\"], over = \"sample_g\""},
		{"mean = [\"moisture\"]", "count = [\"" + odd + "\"], over = \"counted\""},
		{"label = \"B\"", "label = \"B\"\n" + odd + " = 1\nclass.short." + odd + " = 1"},
		{"flags = [\"musty\"]", odd + " = 1\nparameter = \"moisture\"\nmax = 1"},
		{"weevils = 2", odd + " = 1"},
		{"of = \"weight\"", "of = \"" + odd + "\"\n" + odd + " = 1"},
	} {
		_, err := standard.Load("x.toml", []byte(strings.Replace(good, ask.old, ask.new, 1)), nil)
		var faults standard.Faults
		if !errors.As(err, &faults) {
			t.Fatalf("%q gave %v", ask.new, err)
		}
		told := 0
		for _, f := range faults {
			list, ok := strings.CutPrefix(f.Want, "one of ")
			for word := range strings.SplitSeq(list, ", ") {
				if word = strings.Trim(word, "\""); ok {
					told++
					checkOnThePage(t, text, word)
				}
			}
		}
		if told == 0 {
			t.Errorf("%q did not bring out what is known: %v", ask.new, err)
		}
	}
}

func checkOnThePage(t *testing.T, text, word string) {
	t.Helper()
	if slices.Contains([]string{"long", "short"}, word) {
		return // the classes of the example, not words of the format
	}
	for _, form := range []string{"`" + word + "`", "`\"" + word + "\"`", "`" + word + " = ", "{ " + word + " = ", "[[" + word + "]]", "[" + word + "]", word + " = "} {
		if strings.Contains(text, form) {
			return
		}
	}
	t.Errorf("FORMAT.md does not say what %q is", word)
}

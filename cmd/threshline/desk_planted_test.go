package main

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// planted are wrong figures: in a file of the page code, a text that stands there
// once, a value in it, and the wrong one that takes its place.
var planted = []struct{ what, file, text, right, wrong string }{
	{"a share is of the checks", "grades.go", "paper.Count(g.Lots), paper.Part(g.InGrade, g.Checks)", "paper.Part(g.InGrade, g.Checks)", "paper.Percent(float64(g.InGrade.Count)/float64(g.Checks))"},
	{"a point is drawn at the best grade's share", "chart/weeks.go", "up(g.InGrade.Value())", "g.InGrade.Value()", "g.Best.Value()"},
	{"a bar is as long as its interval", "season.go", "Value: g.Share.Value(), Low", "g.Share.Value()", "high"},
	{"alone counts those with others too", "terms.go", "paper.Count(tally.Alone)", "tally.Alone", "tally.Share.Count"},
	{"one lot more meets a limit", "limits.go", "paper.Count(l.Meets.Count)", "l.Meets.Count", "l.Meets.Count + 1"},
	{"the median for the mean", "limits.go", "strconv.FormatFloat(p.Mean, 'f'", "p.Mean", "p.Median.Float()"},
	{"a bar of a histogram is left out", "chart/histogram.go", "for _, b := range bins {\n\t\tmost", "bins", "bins[min(1, len(bins)):]"},
	{"better and worse change places", "grades.go", `paper.Count(r.Better) + " better, "`, "r.Better", "r.Worse"},
	{"tonnes of 1,016 kg", "paper/words.go", "Figure(kg/1000, 1)", "kg/1000", "kg/1016"},
	{"percent are cut, not rounded", "paper/number.go", "return InPercent(Figure(f*100, 0))", "Figure(f*100, 0)", "Count(int(f*100))"},
	{"the best grade for all grades", "paper/page/season.html", "{{part .InGrade .Checks}}", ".InGrade", ".Best"},
	{"a district's lots are the whole's", "whatif.go", `paper.Or(w.District, "not said"), lots: paper.Count(w.Lots)`, "w.Lots", "what.Lots"},
	{"in the best grade after, for in grade", "whatif.go", "paper.Count(o.Done), paper.Count(o.After.InGrade.Count)", "o.After.InGrade.Count", "o.After.Best.Count"},
}

// chooser stands in each package of the pages that have a wrong figure: one program
// holds all of them, and its environment says which one shows.
const chooser = "import \"os\"\n\nfunc planted[T any](what string, right, wrong T) T {\n\tif os.Getenv(\"PLANTED\") == what {\n\t\treturn wrong\n\t}\n\treturn right\n}\n"

// TestWrongFiguresInThePagesAreFound builds the pages with the wrong figures, and
// holds them against the export, with one wrong figure at a time and with none.
func TestWrongFiguresInThePagesAreFound(t *testing.T) {
	t.Parallel()
	pages, err := filepath.Abs("../../gateway/desk")
	if err != nil {
		t.Fatal(err)
	}
	code, page := replaced{}, replaced{}
	for _, p := range planted {
		with := fmt.Sprintf("planted(%q, %s, %s)", p.what, p.right, p.wrong)
		in := code
		if filepath.Ext(p.file) == ".html" { // a page chooses nothing: it has a program of its own
			in, with = page, p.wrong
		} else {
			folder := filepath.Join(pages, filepath.Dir(p.file))
			in[filepath.Join(folder, "planted.go")] = "package " + filepath.Base(folder) + "\n\n" + chooser
		}
		in.plant(t, filepath.Join(pages, p.file), p.text, strings.Replace(p.text, p.right, with, 1))
	}
	all, one := code.build(t), page.build(t)
	if out, err := holdPages(t, all, pages, ""); err != nil {
		t.Fatalf("with no wrong figure: %v\n%s", err, out)
	}
	for _, p := range planted {
		t.Run(p.what, func(t *testing.T) {
			binary := all
			if filepath.Ext(p.file) == ".html" {
				binary = one
			}
			out, err := holdPages(t, binary, pages, p.what)
			if err == nil {
				t.Errorf("nobody notices that %s", p.what)
			} else if !strings.Contains(out, "figures_test.go") || strings.Contains(out, "panic:") {
				t.Errorf("something else went wrong: %v\n%s", err, out)
			}
		})
	}
}

// holdPages holds the pages of a program against the export.
func holdPages(t *testing.T, binary, pages, wrong string) (said string, err error) {
	t.Helper()
	test := exec.CommandContext(t.Context(), binary, "-test.run", "^TestPagesSayWhatTheExportSays$")
	test.Dir, test.Env = pages, append(os.Environ(), "PLANTED="+wrong)
	out, err := test.CombinedOutput()
	return string(out), err
}

// replaced are files that a program is built with, by where they stand for it.
type replaced map[string]string

// plant replaces a text that a file holds once.
func (r replaced) plant(t *testing.T, file, text, with string) {
	t.Helper()
	source, ok := r[file]
	if !ok {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		source = string(data)
	}
	if strings.Count(source, text) != 1 {
		t.Fatalf("%s has not %q once", file, text)
	}
	r[file] = strings.Replace(source, text, with, 1)
}

// build builds the pages' tests with these files.
func (r replaced) build(t *testing.T) (binary string) {
	t.Helper()
	dir := t.TempDir()
	files := map[string]string{}
	for file, source := range r {
		files[file] = filepath.Join(dir, strconv.Itoa(len(files)))
		if err := os.WriteFile(files[file], []byte(source), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	list, err := json.Marshal(map[string]any{"Replace": files})
	if err != nil {
		t.Fatal(err)
	}
	overlay, binary := filepath.Join(dir, "overlay.json"), filepath.Join(dir, "pages.test")
	if err := os.WriteFile(overlay, list, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.CommandContext(t.Context(), "go", "test", "-c", "-vet=off", "-ldflags=-s -w", "-overlay", overlay, "-o", binary, "threshline/gateway/desk").CombinedOutput(); err != nil {
		t.Fatalf("it cannot be built: %v\n%s", err, out)
	}
	return binary
}

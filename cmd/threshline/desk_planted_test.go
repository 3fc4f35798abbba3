package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// planted are wrong figures: in a file of the page code, a text that stands there
// once and what takes its place.
var planted = []struct{ what, file, right, wrong string }{
	{"a share is of the checks", "grades.go", "paper.Count(g.Checks), paper.Count(g.Lots), paper.Part(g.InGrade, g.Checks)", "paper.Count(g.Checks), paper.Count(g.Lots), paper.Percent(float64(g.InGrade.Count)/float64(g.Checks))"},
	{"a point is drawn at the best grade's share", "chart/weeks.go", "up(g.InGrade.Value())", "up(g.Best.Value())"},
	{"a bar is as long as its interval", "season.go", "Value: g.Share.Value(), Low", "Value: high, Low"},
	{"alone counts those with others too", "holding.go", "paper.Count(tally.Alone)", "paper.Count(tally.Share.Count)"},
	{"one lot more meets a limit", "limits.go", "paper.Count(l.Meets.Count)", "paper.Count(l.Meets.Count + 1)"},
	{"the median for the mean", "limits.go", "strconv.FormatFloat(p.Mean, 'f'", "strconv.FormatFloat(p.Median.Float(), 'f'"},
	{"a bar of a histogram is left out", "chart/histogram.go", "for _, b := range bins {\n\t\tmost", "for _, b := range bins[1:] {\n\t\tmost"},
	{"better and worse change places", "grades.go", `paper.Count(r.Better) + " better, "`, `paper.Count(r.Worse) + " better, "`},
	{"tonnes of 1,016 kg", "paper/words.go", "Figure(kg/1000, 1)", "Figure(kg/1016, 1)"},
	{"percent are cut, not rounded", "paper/number.go", "return InPercent(Figure(f*100, 0))", "return InPercent(Count(int(f * 100)))"},
	{"the best grade for all grades", "paper/page/season.html", "{{part .InGrade .Checks}}", "{{part .Best .Checks}}"},
	{"a district's lots are the whole's", "whatif.go", `paper.Or(w.District, "not said"), lots: paper.Count(w.Lots)`, `paper.Or(w.District, "not said"), lots: paper.Count(what.Lots)`},
	{"in the best grade after, for in grade", "whatif.go", "paper.Count(o.Done), paper.Count(o.After.InGrade.Count)", "paper.Count(o.Done), paper.Count(o.After.Best.Count)"},
}

// TestWrongFiguresInThePagesAreFound builds the pages with one wrong figure at a
// time, and holds them against the export.
func TestWrongFiguresInThePagesAreFound(t *testing.T) {
	pages, err := filepath.Abs("../../gateway/desk")
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range planted {
		t.Run(p.what, func(t *testing.T) {
			file := filepath.Join(pages, p.file)
			source, err := os.ReadFile(file)
			if err != nil || strings.Count(string(source), p.right) != 1 {
				t.Fatalf("%s has not %q once: %v", p.file, p.right, err)
			}
			dir := t.TempDir()
			wrong, overlay, binary := filepath.Join(dir, "wrong"), filepath.Join(dir, "overlay.json"), filepath.Join(dir, "pages.test")
			list, err := json.Marshal(map[string]map[string]string{"Replace": {file: wrong}})
			if err != nil {
				t.Fatal(err)
			}
			for path, data := range map[string][]byte{wrong: []byte(strings.Replace(string(source), p.right, p.wrong, 1)), overlay: list} {
				if err := os.WriteFile(path, data, 0o600); err != nil {
					t.Fatal(err)
				}
			}
			if out, err := exec.CommandContext(t.Context(), "go", "test", "-c", "-vet=off", "-ldflags=-s -w", "-overlay", overlay, "-o", binary, "threshline/gateway/desk").CombinedOutput(); err != nil {
				t.Fatalf("it cannot be built: %v\n%s", err, out)
			}
			test := exec.CommandContext(t.Context(), binary, "-test.run", "^TestPagesSayWhatTheExportSays$")
			test.Dir = pages
			out, err := test.CombinedOutput()
			if err == nil {
				t.Errorf("nobody notices that %s", p.what)
			} else if !strings.Contains(string(out), "figures_test.go") || strings.Contains(string(out), "panic:") {
				t.Errorf("something else went wrong: %v\n%s", err, out)
			}
		})
	}
}

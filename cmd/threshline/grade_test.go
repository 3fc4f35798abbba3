package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"threshline/advice"
)

// aLot is a lot of grade II by foreign matter and admixture.
const aLot = `{"moisture":[13.2,13.1,13.3],"sample_g":200,"organic_g":2.4,"inorganic_g":0.6,"clean_g":196.9,"brown_g":155.2,"immature_g":1.1,
	"counted":100,"pest_damaged":0,"discoloured":0,"red":2,"other_variety":1,"values":{"admixture":6.0},"bags":8,"kg":600}`

func gradeText(t testing.TB, cmd gradeCmd, in string) (string, error) {
	t.Helper()
	var out bytes.Buffer
	cmd.File = "-"
	err := cmd.Run(stdio{in: strings.NewReader(in), out: &out, err: io.Discard})
	return out.String(), err
}

// graded is the written form that readers rely on.
type graded struct {
	Standard, Grade      string
	Rank, Of             int
	Complete, Borderline bool
	Confidence           float64
	Deciding, Missing    []string
	Parameters           []struct {
		ID, Value, Unit, Basis, Grade string
		Rank                          int
		Limit                         string
		NextLimit                     string `json:"next_limit"`
	}
	Remedy       *struct{ ID, Becomes, Gain, Because string }
	Error, Field string
}

func answers(t *testing.T, text string) (list []graded) {
	t.Helper()
	dec := json.NewDecoder(strings.NewReader(text))
	for {
		var a graded
		err := dec.Decode(&a)
		if err == io.EOF {
			return list
		}
		if err != nil {
			t.Fatalf("%v in %s", err, text)
		}
		list = append(list, a)
	}
}

func TestGradeJSON(t *testing.T) {
	text, err := gradeText(t, gradeCmd{JSON: true, Remedy: true}, aLot)
	if err != nil {
		t.Fatal(err)
	}
	list := answers(t, text)
	if len(list) != 1 || strings.Count(text, "\n") != 1 {
		t.Fatalf("want one line, got %q", text)
	}
	a := list[0]
	if a.Standard != "agmark-paddy" || a.Grade != "II" || a.Rank != 2 || a.Of != 4 || !a.Complete || !a.Borderline {
		t.Errorf("%+v", a)
	}
	if a.Confidence <= 0 || a.Confidence >= 1 || fmt.Sprint(a.Deciding) != "[foreign_matter admixture]" || len(a.Missing) != 0 {
		t.Errorf("confidence %v, deciding %v, missing %v", a.Confidence, a.Deciding, a.Missing)
	}
	p := a.Parameters[0]
	if p.ID != "foreign_matter" || p.Value != "1.50" || p.Unit != "% mass" || p.Basis != "sample" || p.Grade != "II" || p.Limit != "2.0" || p.NextLimit != "1.0" {
		t.Errorf("foreign matter: %+v", p)
	}
	if a.Remedy == nil || a.Remedy.ID == "" || a.Remedy.Becomes == "" || a.Remedy.Gain == "" {
		t.Errorf("remedy %+v", a.Remedy)
	}
	if bare, _ := gradeText(t, gradeCmd{JSON: true}, aLot); strings.Contains(bare, "remedy") {
		t.Errorf("--no-remedy: %s", bare)
	}
}

// TestGradeJSONOfBadReadings: each lot is answered in its place, the field at
// fault is named, and the exit is not zero.
func TestGradeJSONOfBadReadings(t *testing.T) {
	for _, c := range []struct{ in, field string }{
		{`{"moisture":[138]}`, "moisture"},
		{`{"moisture":[200]}`, "moisture"},
		{`{"sample_g":-1}`, "sample_g"},
		{`{"sample_g":"many"}`, "sample_g"},
		{`{"sample_g":20,"organic_g":15,"inorganic_g":6}`, "sample_g"},
		{`{"counted":100,"red":101}`, "red"},
		{`{"counted":100,"red":1.5}`, "red"},
		{`{"values":{"admixture":101}}`, "values.admixture"},
		{`{"values":{"sweetness":1}}`, "values.sweetness"},
		{`{"colour":"white"}`, "colour"},
		{`{"bags":2.5}`, "bags"},
		{`{"kg":-1}`, "kg"},
		{`[1]`, ""},
	} {
		text, err := gradeText(t, gradeCmd{JSON: true}, c.in+"\n"+aLot)
		if !errors.Is(err, errSaid) {
			t.Errorf("%s: error %v, want one that is already said", c.in, err)
		}
		list := answers(t, text)
		if len(list) != 2 {
			t.Errorf("%s: %d answers, want 2: %s", c.in, len(list), text)
			continue
		}
		if list[0].Error == "" || list[0].Field != c.field || list[1].Grade != "II" {
			t.Errorf("%s: %+v, want field %q", c.in, list[0], c.field)
		}
	}
}

// TestGradeEndsAtBrokenText: what is no JSON, with nothing behind it, ends the
// list with an answer.
func TestGradeEndsAtBrokenText(t *testing.T) {
	for _, in := range []string{"", "  \n", `{"moisture":`, `{"moisture":[13]}{`, `nonsense`} {
		text, err := gradeText(t, gradeCmd{JSON: true}, in)
		list := answers(t, text)
		if !errors.Is(err, errSaid) || len(list) == 0 || list[len(list)-1].Error == "" {
			t.Errorf("%q: %v, %s", in, err, text)
		}
	}
}

// TestGradeGoesOnBehindABrokenLine: a broken line costs one lot, wherever it
// breaks and however long it is, and the exit is not zero.
func TestGradeGoesOnBehindABrokenLine(t *testing.T) {
	lot := strings.ReplaceAll(strings.ReplaceAll(aLot, "\n", ""), "\t", "")
	for _, broken := range []string{
		`{"moisture":[13.8`, `{"moisture":[013]}`, `{"class":"rou`, "\xff\xfe", `]`, `{"counted":100,}`, `moisture 13.8`,
		"  \t" + `{"a" 1}`, `x` + strings.Repeat(`{"moisture":[13]} `, 20000),
	} {
		text, err := gradeText(t, gradeCmd{JSON: true}, lot+"\n"+broken+"\n\n"+lot+"\n  "+lot)
		list := answers(t, text)
		if !errors.Is(err, errSaid) || len(list) != 4 {
			t.Errorf("%.40q: %v, %d answers, want 4", broken, err, len(list))
			continue
		}
		for i, want := range []string{"II", "", "II", "II"} {
			if list[i].Grade != want || (want == "") != (list[i].Error != "") {
				t.Errorf("%.40q: answer %d is %+v", broken, i+1, list[i])
			}
		}
	}
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

// TestGradeExplainShowsEveryStep: the numbers of the readings, formula, limits,
// combination, chances, remedies with their reasons, and sources all appear.
func TestGradeExplainShowsEveryStep(t *testing.T) {
	text, err := gradeText(t, gradeCmd{Explain: true}, aLot)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"organic_g      2.4 g", "(organic_g 2.4 + inorganic_g 0.6) / sample_g 200 x 100 = 1.5, shown 1.50",
		"(13.2 + 13.1 + 13.3) / 3 = 13.2, shown 13.2", "admixture      6, given directly",
		"II       at most 2.0", "own grade II", "rule: the worst parameter decides", "held down by foreign_matter",
		"the lot itself is II with chance", "Clopper-Pearson [NIST-PRC242]", ": chosen (", ": lost (", "[AGMARK-PADDY]", "docslib.org/doc/8391148",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if t.Failed() {
		t.Log(text)
	}
}

// TestEveryReasonHasItsWords: no remedy wins or loses for a bare identifier.
func TestEveryReasonHasItsWords(t *testing.T) {
	for _, id := range advice.Reasons() {
		if reasonText(id) == string(id) {
			t.Errorf("no words for reason %q", id)
		}
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

// someLots is n lots as JSON Lines, some sound and some poor.
func someLots(n int) []byte {
	r := rand.New(rand.NewPCG(7, 11))
	var b bytes.Buffer
	for range n {
		m := 12.5 + 3*r.Float64()
		fmt.Fprintf(&b, `{"moisture":[%.1f,%.1f,%.1f],"sample_g":20,"organic_g":%.2f,"inorganic_g":%.2f,"clean_g":19.2,"brown_g":15.2,"immature_g":%.2f,`+
			`"counted":100,"pest_damaged":%d,"discoloured":%d,"red":%d,"other_variety":%d,"bags":%d,"kg":%d}`+"\n",
			m, m+0.1, m-0.2, 0.6*r.Float64(), 0.1*r.Float64(), 0.5*r.Float64(), r.IntN(4), r.IntN(5), r.IntN(12), r.IntN(6), 1+r.IntN(20), 75*(1+r.IntN(20)))
	}
	return b.Bytes()
}

// TestGradeIsTheSameOnEveryRun: a list of lots gives the same bytes again, from
// a file as from standard input.
func TestGradeIsTheSameOnEveryRun(t *testing.T) {
	lots := someLots(300)
	path := filepath.Join(t.TempDir(), "lots.jsonl")
	if err := os.WriteFile(path, lots, 0o600); err != nil {
		t.Fatal(err)
	}
	first, err := gradeText(t, gradeCmd{JSON: true, Remedy: true}, string(lots))
	if err != nil || strings.Count(first, "\n") != 300 {
		t.Fatalf("%v, %d lines", err, strings.Count(first, "\n"))
	}
	var again bytes.Buffer
	cmd := gradeCmd{JSON: true, Remedy: true, File: path}
	if err := cmd.Run(stdio{out: &again}); err != nil || again.String() != first {
		t.Errorf("%v; the second run differs", err)
	}
}

// BenchmarkGradeLines grades JSON Lines on one core and reports lots/s, without
// and with the advice on a remedy.
func BenchmarkGradeLines(b *testing.B) {
	const lots = 500
	in := someLots(lots)
	for _, remedy := range []bool{false, true} {
		b.Run(fmt.Sprintf("remedy=%v", remedy), func(b *testing.B) {
			cmd := gradeCmd{JSON: true, Remedy: remedy, Standard: defaultStandard}
			g, err := cmd.grader()
			if err != nil {
				b.Fatal(err)
			}
			b.SetBytes(int64(len(in)))
			b.ReportAllocs()
			for b.Loop() {
				if n, err := g.gradeAll(bytes.NewReader(in), io.Discard); n.faults > 0 || err != nil {
					b.Fatal(n, err)
				}
			}
			b.ReportMetric(float64(lots*b.N)/b.Elapsed().Seconds(), "lots/s")
		})
	}
}

// TestGradeByAProgramme takes standard, prices and currency from a
// configuration, and a standard from a file.
func TestGradeByAProgramme(t *testing.T) {
	lot := `{"moisture":[13.2,13.1,13.3],"sample_g":200,"organic_g":5,"inorganic_g":0.2,"brown_g":155,"immature_g":1,
		"counted":100,"pest_damaged":0,"discoloured":0,"red":0,"live_weevils":0,"live_others":0,"kg":600}`
	text, err := gradeText(t, gradeCmd{JSON: true, Remedy: true, Config: "demo.toml"}, lot)
	if err != nil {
		t.Fatal(err)
	}
	a := answers(t, text)[0]
	if a.Standard != "mbuyu-hand" || a.Grade != "Grade 3" || a.Remedy == nil || !strings.HasSuffix(a.Remedy.Gain, " MVS") {
		t.Errorf("%+v, remedy %+v", a, a.Remedy)
	}
	text, err = gradeText(t, gradeCmd{JSON: true, Config: "demo.toml", Standard: "../../grading/standard/agmark-paddy.toml"}, lot)
	if err != nil || answers(t, text)[0].Standard != "agmark-paddy" {
		t.Errorf("a standard's file: %v, %s", err, text)
	}
}

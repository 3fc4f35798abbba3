package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"testing"

	"threshline/advice"
	"threshline/grading/sampling"
	"threshline/grading/standard"
	"threshline/session/wording"
)

// aLot is a lot of grade II by foreign matter and admixture.
const aLot = `{"moisture":[13.2,13.1,13.3],"sample_g":200,"chaff_g":2.4,"stones_g":0.6,"clean_g":196.9,"brown_g":155.2,"immature_g":1.1,
	"counted":100,"pest_damaged":0,"discoloured":0,"red":2,"other_variety":1,"values":{"admixture":6.0},"bags":8,"kg":600}`

// grade is what a grader by AGMARK, unless it has a standard, answers.
func grade(t testing.TB, g Grader, in string) (string, Counts) {
	t.Helper()
	var out bytes.Buffer
	n, err := ready(t, g).All(strings.NewReader(in), &out)
	if err != nil {
		t.Fatal(err)
	}
	return out.String(), n
}

// ready gives a grader words, and a standard where it has none.
func ready(t testing.TB, g Grader) *Grader {
	t.Helper()
	var err error
	if g.Words, err = wording.Embedded(); err != nil {
		t.Fatal(err)
	}
	if g.Standard == nil {
		if g.Standard, err = standard.ByID("agmark-paddy"); err != nil {
			t.Fatal(err)
		}
	}
	return &g
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
	text, _ := grade(t, Grader{Form: JSON, Advise: true}, aLot)
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
	if p.ID != "foreign_matter" || p.Value != "1.50" || p.Unit != "% weight" || p.Basis != "sample" || p.Grade != "II" || p.Limit != "2.0" || p.NextLimit != "1.0" {
		t.Errorf("foreign matter: %+v", p)
	}
	if a.Remedy == nil || a.Remedy.ID == "" || a.Remedy.Becomes == "" || a.Remedy.Gain == "" {
		t.Errorf("remedy %+v", a.Remedy)
	}
	if bare, _ := grade(t, Grader{Form: JSON}, aLot); strings.Contains(bare, "remedy") {
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
		{`{"sample_g":20,"chaff_g":15,"stones_g":6}`, "sample_g"},
		{`{"counted":100,"red":101}`, "red"},
		{`{"counted":100,"red":1.5}`, "red"},
		{`{"values":{"admixture":101}}`, "values.admixture"},
		{`{"values":{"sweetness":1}}`, "values.sweetness"},
		{`{"colour":"white"}`, "colour"},
		{`{"bags":2.5}`, "bags"},
		{`{"kg":-1}`, "kg"},
		{`[1]`, ""},
	} {
		text, n := grade(t, Grader{Form: JSON}, c.in+"\n"+aLot)
		if n.Faults != 1 {
			t.Errorf("%s: %d faults, want 1", c.in, n.Faults)
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
		text, n := grade(t, Grader{Form: JSON}, in)
		list := answers(t, text)
		if n.Faults == 0 || len(list) == 0 || list[len(list)-1].Error == "" {
			t.Errorf("%q: %+v, %s", in, n, text)
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
		text, n := grade(t, Grader{Form: JSON}, lot+"\n"+broken+"\n\n"+lot+"\n  "+lot)
		list := answers(t, text)
		if n.Faults == 0 || len(list) != 4 {
			t.Errorf("%.40q: %+v, %d answers, want 4", broken, n, len(list))
			continue
		}
		for i, want := range []string{"II", "", "II", "II"} {
			if list[i].Grade != want || (want == "") != (list[i].Error != "") {
				t.Errorf("%.40q: answer %d is %+v", broken, i+1, list[i])
			}
		}
	}
}

// TestGradeExplainShowsEveryStep: the numbers of the readings, formula, limits,
// combination, chances, remedies with their reasons, and sources all appear.
func TestGradeExplainShowsEveryStep(t *testing.T) {
	text, _ := grade(t, Grader{Form: Page, Advise: true}, aLot)
	for _, want := range []string{
		"chaff_g        2.4 g", "(chaff_g 2.4 + stones_g 0.6) / sample_g 200 x 100 = 1.5, shown 1.50",
		"(13.2 + 13.1 + 13.3) / 3 = 13.2, shown 13.2", "admixture      6, given directly",
		"II       at most 2.0", "own grade II", "rule: the worst parameter decides", "held down by foreign_matter",
		"the lot itself is II with chance", "Clopper-Pearson [NIST-PRC242]", ": chosen (", ": not chosen (", "[AGMARK-PADDY]", "docslib.org/doc/8391148",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if t.Failed() {
		t.Log(text)
	}
}

// TestExplainMarksWhatTurnsOnAnAssumedFigure: a gain of between one and two tenths
// of a grade is worth the work by our figure, and is not by its double.
func TestExplainMarksWhatTurnsOnAnAssumedFigure(t *testing.T) {
	const close = `{"moisture":[13.2,13.1,13.3],"sample_g":200,"chaff_g":1.6,"stones_g":0.1,"clean_g":196.9,"brown_g":155.2,"immature_g":0.3,
		"counted":400,"pest_damaged":0,"discoloured":0,"red":2,"other_variety":1,"bags":8,"kg":600}`
	for lot, want := range map[string]bool{close: true, aLot: false} {
		page, _ := grade(t, Grader{Form: Page, Advise: true}, lot)
		text := strings.Join(strings.Fields(page), " ")
		if strings.Contains(text, "turns on an assumed figure: worth_steps; at twice that, look_first would be chosen") != want ||
			strings.Contains(text, "turns on an assumed figure") != want {
			t.Errorf("marked %v: %s", !want, page)
		}
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

// someLots is n lots as JSON Lines, some sound and some poor.
func someLots(n int) []byte {
	r := rand.New(rand.NewPCG(7, 11))
	var b bytes.Buffer
	for range n {
		m := 12.5 + 3*r.Float64()
		fmt.Fprintf(&b, `{"moisture":[%.1f,%.1f,%.1f],"sample_g":20,"chaff_g":%.2f,"stones_g":%.2f,"clean_g":19.2,"brown_g":15.2,"immature_g":%.2f,`+
			`"counted":100,"pest_damaged":%d,"discoloured":%d,"red":%d,"other_variety":%d,"bags":%d,"kg":%d}`+"\n",
			m, m+0.1, m-0.2, 0.6*r.Float64(), 0.1*r.Float64(), 0.5*r.Float64(), r.IntN(4), r.IntN(5), r.IntN(12), r.IntN(6), 1+r.IntN(20), 75*(1+r.IntN(20)))
	}
	return b.Bytes()
}

// TestGradeIsTheSameOnEveryRun: a list of lots gives the same bytes again.
func TestGradeIsTheSameOnEveryRun(t *testing.T) {
	lots := string(someLots(300))
	first, _ := grade(t, Grader{Form: JSON, Advise: true}, lots)
	if n := strings.Count(first, "\n"); n != 300 {
		t.Fatalf("%d lines", n)
	}
	if again, _ := grade(t, Grader{Form: JSON, Advise: true}, lots); again != first {
		t.Error("the second run differs")
	}
}

// TestExplainSaysByWhichRuleBagsAreSpeared, what it is for, and why that one.
func TestExplainSaysByWhichRuleBagsAreSpeared(t *testing.T) {
	for purpose, want := range map[sampling.Purpose]string{
		sampling.Buying:   `8 of 8, by the rule "trade", for buying`,
		sampling.Seed:     `6 of 8, by the rule "five-and-tenth", for seed All up to 6 bags; else 5 and a tenth of the bags, at most 30: AOSA rule`,
		sampling.Official: `8 of 8, by the rule "stack", for official`,
	} {
		choice, err := sampling.Choose("", purpose)
		if err != nil {
			t.Fatal(err)
		}
		page, _ := grade(t, Grader{Form: Page, Sampling: choice}, aLot)
		if !strings.Contains(strings.Join(strings.Fields(page), " "), want) {
			t.Errorf("%s: the page lacks %q:\n%s", purpose, want, page)
		}
	}
}

// A lot of which nothing was measured has no grade, and one that a bite found too
// wet is to be dried: neither is said to be no better than that.
func TestALotWithoutAGradeSaysSo(t *testing.T) {
	for lot, want := range map[string]string{
		`{"flags":[]}`: "No grade, outside its", `{"flags":["too_wet"]}`: "Too wet, outside its",
	} {
		for _, g := range []Grader{{}, {Form: Page, Advise: true}} {
			text, _ := grade(t, g, lot)
			if !strings.Contains(text, want) || strings.Contains(strings.ToLower(text), "no better than") || !strings.Contains(text, "not measured") {
				t.Errorf("%s: %s", lot, text)
			}
		}
	}
}

// A lot of which nobody says what was seen and smelt is said to be so, and is not
// praised, in whatever form.
func TestWhatNobodyLookedAtIsSaidToBeSo(t *testing.T) {
	const figures = `{"moisture":[12.6,12.6,12.7],"sample_g":200,"chaff_g":0.4,"stones_g":0.1,"clean_g":199,"brown_g":157,"immature_g":0.1,"counted":100,"pest_damaged":0,"discoloured":0,"red":0,"other_variety":0`
	for flags, unlooked := range map[string]bool{``: true, `,"flags":null`: true, `,"flags":[]`: false, `,"flags":["mouldy"]`: false} {
		for _, form := range []Form{Lines, JSON, Page} {
			text, _ := grade(t, Grader{Form: form, Advise: true}, figures+flags+"}")
			if said := strings.Contains(text, notLooked); said != unlooked || unlooked && form != Page && strings.Contains(text, "keep_well") {
				t.Errorf("form %d, %q: not looked at %v: %s", form, flags, said, text)
			}
		}
	}
}

package report

import (
	"bytes"
	"strings"
	"testing"

	"threshline/advice"
	"threshline/grading/standard"
)

// TestSamplesOfOneLotAreOneLargerSample: 1.5 % and 3.5 % of foreign matter in
// samples of 200 and 100 g are 2.17 % in 300 g, and the page tells that the two
// lie far apart.
func TestSamplesOfOneLotAreOneLargerSample(t *testing.T) {
	in := `{"moisture":13,"sample_g":200,"chaff_g":2.4,"stones_g":0.6,"kg":600}` + "\n" +
		`{"moisture":13.2,"sample_g":100,"chaff_g":3.2,"stones_g":0.3,"bags":8}`
	together := func(form Form, in string) (string, Counts) {
		var out bytes.Buffer
		n, err := ready(t, Grader{Form: form, Advise: true}).Together(strings.NewReader(in), &out)
		if err != nil {
			t.Fatal(err)
		}
		return out.String(), n
	}
	text, n := together(JSON, in)
	list := answers(t, text)
	if n.Faults != 0 || len(list) != 1 || list[0].Parameters[0].Value != "2.17" || list[0].Grade != "III" {
		t.Fatalf("%+v, %s", n, text)
	}
	page, _ := together(Page, in)
	for _, want := range []string{
		"2 samples of one lot", "foreign_matter: 1.50 in the first, 3.50 in sample 2", "were they of one lot",
		"sample_g       300 g", "bags           8", "kg             600", "moisture       13, 13.2 %",
	} {
		if !strings.Contains(strings.Join(strings.Fields(page), " "), strings.Join(strings.Fields(want), " ")) {
			t.Errorf("the page lacks %q", want)
		}
	}
	for _, bad := range []string{"", in + "\n" + `{"counted":100,"red":101}`, in + "\n{", in + "\n" + `{"chaff_g":-1}`, in + "\n" + `{"wet":1}`} {
		text, n := together(JSON, bad)
		if list := answers(t, text); n.Faults != 1 || len(list) != 1 || list[0].Error == "" {
			t.Errorf("%.60q: %+v, %s", bad, n, text)
		}
	}
}

// TestExplainShowsWhatIsApartFromTheGrade: the price rules that the standard
// has, how to dry, and whether the lot keeps in the place's air.
func TestExplainShowsWhatIsApartFromTheGrade(t *testing.T) {
	page := func(g Grader, in string, wants ...string) {
		t.Helper()
		g.Form, g.Advise = Page, true
		text, _ := grade(t, g, in)
		for _, want := range wants {
			if !strings.Contains(strings.Join(strings.Fields(text), " "), want) {
				t.Errorf("the page lacks %q:\n%s", want, text)
			}
		}
	}
	// 15.5 % is two full steps of 0.5 over 14.5, 1.7 % two of 0.3 over 1 [GB-1350].
	japonica, err := standard.ByID("gb1350-japonica")
	if err != nil {
		t.Fatal(err)
	}
	page(Grader{Standard: japonica},
		`{"values":{"husked_yield":80,"head_rice":60,"moisture":15.5,"impurities":1.7,"yellow":0,"husked_grains":0,"other_kinds":0},"kg":1000}`,
		"moisture: -1.3 % of the weight, for 2 steps of 0.5 over 14.5", "impurities: -0.6 % of the weight", "together -1.9 % of the weight")
	// 1000 kg from 25 % to 13.5 % are 867 kg by the formula of [IRRI-MC].
	page(Grader{}, `{"moisture":25,"kg":1000}`, "1000 kg become 867.1 kg", "cover when the grain is above 50 degrees", "3 passes")
	// At 30 degrees and 85 % both models settle above 15 % [ASAE-D245].
	var humid advice.Settings
	humid.Climate[3] = advice.Month{Celsius: 30, Humidity: 0.85}
	page(Grader{Settings: humid}, `{"moisture":13}`, "in the dampest month, April", "settles at 15.5 to 15.6 %", "cannot stay at 13 %")
}

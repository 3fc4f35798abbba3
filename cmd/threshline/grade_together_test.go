package main

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestSamplesOfOneLotAreOneLargerSample: 1.5 % and 3.5 % of foreign matter in
// samples of 200 and 100 g are 2.17 % in 300 g, and the page tells that the two
// lie far apart.
func TestSamplesOfOneLotAreOneLargerSample(t *testing.T) {
	in := `{"moisture":13,"sample_g":200,"organic_g":2.4,"inorganic_g":0.6,"kg":600}` + "\n" +
		`{"moisture":13.2,"sample_g":100,"organic_g":3.2,"inorganic_g":0.3,"bags":8}`
	text, err := gradeText(t, gradeCmd{JSON: true, OneLot: true}, in)
	list := answers(t, text)
	if err != nil || len(list) != 1 || list[0].Parameters[0].Value != "2.17" || list[0].Grade != "III" {
		t.Fatalf("%v, %s", err, text)
	}
	page, err := gradeText(t, gradeCmd{Explain: true, OneLot: true}, in)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"2 samples of one lot", "foreign_matter: 1.50 in the first, 3.50 in sample 2", "were they of one lot",
		"sample_g       300 g", "bags           8", "kg             600", "moisture       13, 13.2 %",
	} {
		if !strings.Contains(strings.Join(strings.Fields(page), " "), strings.Join(strings.Fields(want), " ")) {
			t.Errorf("the page lacks %q", want)
		}
	}
	for _, bad := range []string{"", in + "\n" + `{"counted":100,"red":101}`, in + "\n{", in + "\n" + `{"organic_g":-1}`, in + "\n" + `{"wet":1}`} {
		text, err := gradeText(t, gradeCmd{JSON: true, OneLot: true}, bad)
		if list := answers(t, text); !errors.Is(err, errSaid) || len(list) != 1 || list[0].Error == "" {
			t.Errorf("%.60q: %v, %s", bad, err, text)
		}
	}
}

// TestExplainShowsWhatIsApartFromTheGrade: the price rules that the standard
// has, how to dry, and whether the lot keeps in the place's air.
func TestExplainShowsWhatIsApartFromTheGrade(t *testing.T) {
	page := func(cmd gradeCmd, in string, wants ...string) {
		t.Helper()
		cmd.Explain = true
		text, err := gradeText(t, cmd, in)
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range wants {
			if !strings.Contains(strings.Join(strings.Fields(text), " "), want) {
				t.Errorf("the page lacks %q:\n%s", want, text)
			}
		}
	}
	// 15.5 % is two full steps of 0.5 over 14.5, 1.7 % two of 0.3 over 1 [GB-1350].
	page(gradeCmd{Standard: "gb1350-japonica"},
		`{"values":{"husked_yield":80,"head_rice":60,"moisture":15.5,"impurities":1.7,"yellow":0,"husked_kernels":0,"other_kinds":0},"kg":1000}`,
		"moisture: -1.3 % of the mass, for 2 steps of 0.5 over 14.5", "impurities: -0.6 % of the mass", "together -1.9 % of the mass")
	// 1000 kg from 25 % to 13.5 % are 867 kg by the formula of [IRRI-MC].
	page(gradeCmd{}, `{"moisture":25,"kg":1000}`, "1000 kg become 867.1 kg", "cover when the grain is above 50 degrees", "3 passes")
	path := filepath.Join(t.TempDir(), "valley.toml")
	demo, err := os.ReadFile("demo.toml")
	if err != nil {
		t.Fatal(err)
	}
	// At 30 degrees and 85 % both models settle above 15 % [ASAE-D245].
	humid := string(demo) + "\n[[climate]]\nmonth = 4\ncelsius = 30\nhumidity_percent = 85\n"
	if err := os.WriteFile(path, []byte(humid), 0o600); err != nil {
		t.Fatal(err)
	}
	page(gradeCmd{Config: path}, `{"moisture":13}`, "in the dampest month, April", "settles at 15.5 to 15.6 %", "cannot stay at 13 %")
}

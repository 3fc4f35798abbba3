package main

import (
	"strings"
	"testing"

	"threshline/advice"
	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/demo"
)

// TestAProgrammeHasItsOwnFigures: what the configuration says in place of an
// assumed figure comes to the advice, and what cannot be meant is refused.
func TestAProgrammeHasItsOwnFigures(t *testing.T) {
	with := func(text string) (*config.Config, error) {
		return config.Parse("test.toml", []byte(strings.Replace(string(demo.Config), "[store]", text+"\n[store]", 1)))
	}
	rows := `
[assumed]
worth_steps = 0.3
worth_percent = 2.0
worth_measuring = 0.4
most_in_sun_kg = 3000

[[work]]
remedy = "dry_sun"
per_lot = 1
per_tonne = 30
`
	cfg, err := with(rows)
	if err != nil {
		t.Fatal(err)
	}
	s, err := cfg.Settings()
	if err != nil {
		t.Fatal(err)
	}
	sun, winnow := advice.RemedyOf(advice.DrySun), advice.RemedyOf(advice.Winnow)
	if steps, share, measuring := s.Worth(); steps != 0.3 || share != 0.02 || measuring != 0.4 || s.Largest(sun) != 3000 {
		t.Errorf("worth %v, %v, %v, in the sun %v", steps, share, measuring, s.Largest(sun))
	}
	if got, own := s.WorkOf(sun), s.WorkOf(winnow); got.Hours(2000) != 61 || own != winnow.Work {
		t.Errorf("work in the sun %+v, of winnowing %+v", got, own)
	}
	for name, text := range map[string]string{
		"no work is counted": strings.Replace(rows, "dry_sun", "better_seed", 1),
		"is given twice":     rows + rows[strings.Index(rows, "[[work]]"):],
		"below zero":         strings.Replace(rows, "0.4", "-0.4", 1),
		"hours over zero":    strings.Replace(strings.Replace(rows, "= 30\n", "= 0\n", 1), "= 1\n", "= 0\n", 1),
		"worth_of_it":        strings.Replace(rows, "worth_steps", "worth_of_it", 1),
	} {
		if _, err := with(text); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

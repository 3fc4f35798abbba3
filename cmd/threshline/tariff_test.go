package main

import (
	"strings"
	"testing"

	"threshline/advice"
	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/demo"
	"threshline/grading"
)

// TestTariffsAndSeedHavePrices: what the configuration says comes to the advice,
// a district's own before that of everywhere; what cannot be meant is refused.
func TestTariffsAndSeedHavePrices(t *testing.T) {
	rows := `
[[tariff]]
remedy = "dry_machine"
per_tonne = 900
tonnes_per_day = 8

[[tariff]]
remedy = "dry_machine"
per_tonne = 700
per_lot = 50
districts = ["Kisima"]
`
	with := func(text string) (*config.Config, error) {
		return config.Parse("test.toml", []byte(strings.Replace(string(demo.Config), "day_wage = 300\n", "day_wage = 300\n"+text, 1)))
	}
	seed := "seed_price = 120\nseed_kg_per_ha = 60\nyield_t_per_ha = 4.5\n"
	cfg, err := with(seed + rows)
	if err != nil {
		t.Fatal(err)
	}
	s, err := cfg.Settings()
	if err != nil {
		t.Fatal(err)
	}
	here, ok := s.Tariff(advice.DryMachine, "Korongo")
	if want := (advice.Tariff{PerKG: 9 * grading.One / 10, PerDay: 8000 * grading.One}); !ok || here != want {
		t.Errorf("in Korongo %+v, want %+v", here, want)
	}
	there, ok := s.Tariff(advice.DryMachine, "Kisima")
	if want := (advice.Tariff{Fixed: 50 * grading.One, PerKG: 7 * grading.One / 10}); !ok || there != want {
		t.Errorf("in Kisima %+v, want %+v", there, want)
	}
	if cost, ok := s.Seed.For(900 * grading.One); !ok || cost != 1440 { // a fifth of a hectare, 12 kg
		t.Errorf("seed for 900 kg costs %v, want 1440", cost)
	}
	if lines := strings.Join(cfg.Unpriced(), "\n"); strings.Contains(lines, "dry_machine") || !strings.Contains(lines, "destone") {
		t.Errorf("verify says %q", lines)
	}
	for name, text := range map[string]string{
		"nothing is paid for that": strings.Replace(rows, "dry_machine", "winnow", 1),
		"there is no district":     strings.Replace(rows, "Kisima", "Elsewhere", 1),
		"is given twice":           rows + rows,
		"go together":              "seed_price = 120\n",
		"below zero":               strings.Replace(rows, "900", "-900", 1),
	} {
		if _, err := with(text); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

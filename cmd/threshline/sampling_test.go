package main

import (
	"strings"
	"testing"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/demo"
	"threshline/grading/sampling"
)

// TestAProgrammeSaysWhatItSamplesFor: the purpose chooses the rule for bags, a rule
// that is named comes before it, and what there is not is refused.
func TestAProgrammeSaysWhatItSamplesFor(t *testing.T) {
	for text, want := range map[string]sampling.PlanID{
		"":                               sampling.Default,
		`sampling_purpose = "seed"`:      "five-and-tenth",
		`sampling_purpose = "official"`:  "stack",
		`sampling_plan = "ten"`:          "ten",
		`sampling_purpose = "groceries"`: "",
		`sampling_plan = "some"`:         "",
	} {
		cfg, err := config.Parse("test.toml", []byte(strings.Replace(string(demo.Config), "[programme]\n", "[programme]\n"+text+"\n", 1)))
		if err != nil {
			t.Fatal(err)
		}
		choice, err := cfg.SamplingChoice()
		if (err == nil) != (want != "") || err == nil && choice.Plan.ID != want {
			t.Errorf("%s: %s, %v", text, choice.Plan.ID, err)
		}
	}
}

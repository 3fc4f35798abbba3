package screen_test

import (
	"slices"
	"testing"

	"threshline/grading/sampling"
)

// Every rule by which bags can be speared, and every purpose, has its words.
func TestEveryPlanHasItsWords(t *testing.T) {
	words := newWorld(t, "agmark-paddy").machine.Words
	keys := []string{"plan.for_own"}
	for _, p := range sampling.Plans() {
		keys = append(keys, "plan."+string(p.ID))
	}
	for _, p := range sampling.Purposes() {
		keys = append(keys, "plan.for_"+string(p))
	}
	for _, lang := range words.Languages() {
		for _, key := range keys {
			if text := words.Text(lang, key); text == "" || slices.Contains(keys, text) {
				t.Errorf("%s: %s says %q", lang, key, text)
			}
		}
	}
}

package wording_test

import (
	"strings"
	"testing"
)

// A language writes a percentage in one way, in its texts as behind a number
// that a screen makes.
func TestAPercentageIsWrittenInOneWay(t *testing.T) {
	c := embedded(t)
	for _, lang := range c.Languages() {
		unit, seen := c.Text(lang, "unit.percent"), 0
		for _, key := range c.Keys(lang) {
			for text := c.Text(lang, key); ; seen++ {
				before, after, found := strings.Cut(text, "%")
				if !found || key == "unit.percent" {
					break
				}
				number := strings.TrimSuffix(before, " ")
				if (number == before) == strings.HasPrefix(unit, " ") && number != "" {
					t.Errorf("%s: %s writes %q, others %q", lang, key, before+"%", "14"+unit)
				}
				text = after
			}
		}
		if seen == 0 {
			t.Errorf("%s has no percentage", lang)
		}
	}
}

package screen_test

import (
	"strings"
	"testing"
)

// A list of checks names the grade as one: "1 NZKUFA7 1 25 Nov" is three numbers
// of which nobody knows which is what.
func TestAListOfChecksNamesTheGrade(t *testing.T) {
	for lang, want := range map[string]string{"en": "grade 2", "fr": "classe 2", "sw": "daraja", "ha": "daraja"} {
		h, send := asha(t, lang)
		c := send(closeLot)
		if list := h.all(t, "2"); !strings.Contains(list, "1 "+string(c.Slip)+" "+want) {
			t.Errorf("%s: no %q after the slip in\n%s", lang, want, list)
		}
	}
}

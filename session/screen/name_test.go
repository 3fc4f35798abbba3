package screen_test

import (
	"strings"
	"testing"

	"threshline/session"
)

// A name that is too long is refused with a reason and never cut in silence, as
// in a roster.
func TestALongNameIsToldAndNotCut(t *testing.T) {
	for _, lang := range []string{"en", "fr", "sw", "ha"} {
		w := newWorld(t, "agmark-paddy", session.Language(lang))
		h := &handset{world: w, number: "+33639980078"}
		must(t, h.sms, "hello")
		must(t, h.sms, "1")
		told := must(t, h.sms, "Muhammadu Abdulrahman Ibrahim, Kisima")
		if want := w.machine.Words.Text(lang, "wrong.name_long", "most", "24"); !strings.Contains(told, want) {
			t.Errorf("%s: %q is not told in %q", lang, want, told)
		}
		must(t, h.sms, "Muhammadu Abdulrahman, Kisima")
		if p, err := w.store.PersonByPhone(h.number); err != nil || p.Name != "Muhammadu Abdulrahman" || p.Village != "Kisima" {
			t.Errorf("%s: kept as %q of %q, %v", lang, p.Name, p.Village, err)
		}
	}
}

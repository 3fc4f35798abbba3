package screen_test

import (
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session"
)

// Where another grade is likelier than the stated one, Why says so, and that having
// the meter checked settles most, in every language: nobody checked it, and the lot
// lies just over the limit of moisture.
func TestALikelierGradeIsSaidOnThePhone(t *testing.T) {
	for _, lang := range []session.Language{"en", "fr", "sw", "ha"} {
		w := newWorld(t, "agmark-paddy", lang)
		w.machine.Programme.OneMeter = grading.Meter{}
		h := known(w, walker, session.Grower)
		p := w.store.people["known "+session.PersonID(walker)]
		p.Language = lang
		w.store.people[p.ID] = p
		const lot = "M 14.1 14.1 14.1 S 200 O 0.4 I 0.1 B 152 T 0.5 P 0 Y 0 R 1 V 0 BAG 8x75 OK"
		if _, err := h.sms(lot); err != nil {
			t.Fatal(err)
		}
		why := ""
		for entry := "2"; entry != ""; {
			r, err := h.sms(entry)
			if err != nil {
				t.Fatal(err)
			}
			why += r.Text + "\n"
			if entry = ""; strings.Contains(r.Text, "\n9 ") {
				entry = "9"
			}
		}
		for _, key := range []string{"why.likelier", "why.settle_meter"} {
			said, _, _ := strings.Cut(w.machine.Words.Text(string(lang), key), "{")
			if said = strings.TrimSpace(said); said == "" || !strings.Contains(why, said) {
				t.Errorf("%s: why does not say %q (%s): %q", lang, said, key, why)
			}
		}
	}
}

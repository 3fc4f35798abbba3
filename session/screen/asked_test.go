package screen_test

import (
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session"
)

// Whoever asks whether all is good has not looked: nothing is praised, and the
// signs are asked, in the first message and where they are asked already.
func TestAQuestionWhetherAllIsGoodIsNoAnswer(t *testing.T) {
	const readings = "M 13.1 13.2 13.1 S 200 O 0.4 I 0.1 B 155.2 T 0.2 C 100 P 0 Y 0 R 0 V 0 BAG 8x75 "
	for lang, asked := range map[session.Language][]string{
		"en": {"OK?", "ok ?", "is it ok", "all good?"}, "fr": {"OK?", "est-ce que c'est ok"}, "sw": {"SAWA?", "je ni sawa"}, "ha": {"LAFIYA?", "ko lafiya"},
	} {
		for _, asks := range asked {
			w := newWorld(t, "agmark-paddy", "en", lang)
			h := known(w, "+33639985601", session.Grower)
			for _, in := range []struct {
				speaks session.Language
				text   string
			}{{"en", readings + asks}, {lang, asks}} {
				p := w.store.people["known +33639985601"]
				p.Language = in.speaks
				w.store.people[p.ID] = p
				r, err := h.sms(in.text)
				if err != nil || len(w.store.checks) != 1 {
					t.Fatalf("%s %q: %d checks, %v: %q", lang, in.text, len(w.store.checks), err, r.Text)
				}
				for _, c := range w.store.checks {
					if c.Readings.Looked == grading.WasLooked || strings.Contains(r.Text, w.machine.Words.Text(string(in.speaks), "remedy.keep_well.do")) {
						t.Errorf("%s %q: %v, %q", lang, in.text, c.Readings.Looked, r.Text)
					}
				}
			}
		}
	}
}

// A live insect that was said, and not counted, is named in the answer that asks
// for the other signs.
func TestLiveInsectsThatWereSaidAreNamedWhereSignsAreAsked(t *testing.T) {
	w := newWorld(t, "agmark-paddy", "en")
	h := known(w, "+33639985601", session.Grower)
	r, err := h.sms("M 13.1 13.2 13.1 S 200 O 0.4 I 0.1 B 155.2 T 0.2 C 100 P 0 Y 0 R 0 V 0 BAG 8x75 bugs")
	if err != nil || !strings.Contains(r.Text, "Found: live insects") || !strings.Contains(r.Text, "not looked at") {
		t.Errorf("%q, %v", r.Text, err)
	}
}

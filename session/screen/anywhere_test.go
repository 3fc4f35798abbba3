package screen_test

import (
	"slices"
	"testing"

	"threshline/grading"
	"threshline/session"
)

// A danger is heard at whatever question it is said, that question is asked again,
// but for one that any word answers, and what else there is is asked later.
func TestADangerIsHeardAtAnyQuestion(t *testing.T) {
	for _, said := range []struct {
		lang session.Language
		word string
		flag grading.Flag
	}{
		{"en", "mouldy", grading.Mouldy}, {"fr", "moisi", grading.Mouldy}, {"sw", "ukungu", grading.Mouldy}, {"ha", "hunhuna", grading.Mouldy},
		{"en", "hot", grading.Warm}, {"en", "treated seed", grading.TreatedSeed},
	} {
		for _, answers := range [][]string{{}, {"8"}, {"8", "1"}, {"8", "1", "13.8 14.1 13.9", "200"}, {"8", "1", "13.8 14.1 13.9", "200", "2.4 0.6", "155.2 1.1", "0 1 2 0", "1"}} {
			w := newWorld(t, "agmark-paddy", said.lang)
			h := known(w, "+33639985603", session.Grower)
			p := w.store.people["known +33639985603"]
			p.Language = said.lang
			w.store.people[p.ID] = p
			if _, err := h.dial(); err != nil {
				t.Fatal(err)
			}
			for _, key := range append([]string{"1"}, answers...) {
				if _, err := h.key(key); err != nil {
					t.Fatal(err)
				}
			}
			before := w.store.dialogues[h.number].Screen
			r, err := h.key(said.word)
			d := w.store.dialogues[h.number]
			if err != nil || len(d.Drafts) != 1 || !slices.Contains(d.Drafts[0].Readings.Flags, said.flag) || d.Screen != before && before != "spear" {
				t.Errorf("%s %q at %q: then %q, %+v, %v: %q", said.lang, said.word, before, d.Screen, d.Drafts, err, r.Text)
			}
		}
	}
}

package screen_test

import (
	"strings"
	"testing"

	"threshline/session"
)

// A word for "how" says how, in every language, on screens that take numbers and
// on those that take names alike.
func TestAWordForHowWorksOnEveryScreen(t *testing.T) {
	words := newWorld(t, "agmark-paddy").machine.Words
	for _, lang := range words.Languages() {
		tried := 0
		for _, word := range words.Words(lang, "accept.how") {
			if len(word) < 3 {
				continue
			}
			tried++
			for help, way := range map[string][]string{
				"help.growers": {"6"}, "help.slip": {"4"}, "help.dry": {"3"},
			} {
				w := newWorld(t, "agmark-paddy", session.Language(lang))
				h := known(w, walker, session.Agent)
				p, _ := w.store.PersonByPhone(walker)
				p.Language = session.Language(lang)
				w.store.people[p.ID] = p
				if _, err := h.dial(); err != nil {
					t.Fatal(err)
				}
				for _, key := range way {
					if _, err := h.key(key); err != nil {
						t.Fatal(err)
					}
				}
				r, err := h.key(word)
				if err != nil {
					t.Fatal(err)
				}
				begin := words.Text(lang, help)
				if !strings.HasPrefix(r.Text, begin[:min(40, len(begin))]) {
					t.Errorf("%s: %q after %v says\n%s", lang, word, way, r.Text)
				}
			}
		}
		if tried == 0 {
			t.Errorf("%s: no word for how", lang)
		}
	}
}

package screen_test

import (
	"fmt"
	"strings"
	"testing"

	"threshline/session"
)

// An alert that a coordinator's phone sends back, whole or inside another text,
// in whatever language, is no re-check of the lot and alarms nobody.
func TestAnAlertThatComesBackChangesNothing(t *testing.T) {
	for _, lang := range newWorld(t, "agmark-paddy").machine.Words.Languages() {
		for _, form := range []string{"%s", "> %s", "Fwd: %s", "%s\nsent from my phone", "  %s  "} {
			w := newWorld(t, "agmark-paddy", "en", session.Language(lang))
			h := kisimaAgent(w)
			head(w, "+33639983501", "Kisima", func(p *session.Person) { p.Language = session.Language(lang) })
			head(w, "+33639983502", "Kisima", nil)
			echo := func(text string) {
				back := &handset{world: w, number: "+33639983501"}
				if _, err := back.sms("menu"); err != nil {
					t.Fatal(err)
				}
				checks, drafts := len(w.store.checks), len(w.store.dialogues[back.number].Drafts)
				r, err := back.sms(fmt.Sprintf(form, text))
				if err != nil || !r.Silent || len(w.store.checks) != checks || len(w.store.dialogues[back.number].Drafts) != drafts || len(told(w)) > 0 {
					t.Errorf("%s %q: %q was answered %q, and %d checks became %d", lang, form, text, r.Text, checks, len(w.store.checks))
				}
			}
			wet, dry := fmt.Sprintf(lotOfKisima, "19.1 19.2 19.3"), fmt.Sprintf(lotOfKisima, "13.1 13.2 13.3")
			for _, entries := range []string{
				"G1 " + wet, "slip SLIP " + wet, "3/1/3 13.1 13.2 13.3/1", "G1 " + wet, "3/2/1", "G1 " + wet, "slip SLIP " + dry,
			} {
				if strings.HasPrefix(entries, "G1") {
					w.now = w.now.AddDate(0, 0, 1) // or they come together
				}
				for _, entry := range strings.Split(entries, "/") {
					if _, err := h.sms(strings.Replace(entry, "SLIP", string(h.slip()), 1)); err != nil {
						t.Fatal(err)
					}
				}
				text := told(w)["+33639983501"]
				if text == "" {
					t.Fatalf("%s: %q alarmed nobody", lang, entries)
				}
				echo(text)
			}
		}
	}
}

package screen_test

import (
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session"
)

// Live insects that stop no lot are named all the same, with what to do about
// them, whichever way they were said and whether or not they were counted: in the
// answer, and to a buyer. Such a lot is never told that nothing holds it down.
func TestLiveInsectsAreNamedWithTheirRemedy(t *testing.T) {
	const lot = "M 13 13.1 13.2 S 200 O 1.4 I 0.2 B 155 T 0.5 P 0 Y 0 R 0 V 0 bag 8 OK "
	ussd := []string{"1", "8 75", "1", "13 13.1 13.2", "200", "1.4 0.2", "155 0.5", "0 0 0"}
	for _, lang := range newWorld(t, "mbuyu-hand").machine.Words.Languages() {
		for _, id := range []string{"mbuyu-hand", "fci-storage"} {
			for _, way := range []struct {
				name   string
				sms    string
				keys   []string
				number string
			}{
				{"three by one SMS", "N 3", nil, "3"},
				{"a weevil by one SMS", "W 1", nil, "1"},
				{"insects without a number", "insects", nil, "1"},
				{"weevils without a number", "weevils", nil, "1"},
				{"counted by USSD", "", append(ussd, "6", "0 3", "1"), "3"},
				{"not counted by USSD", "", append(ussd, "6", "99", "1"), "1"},
			} {
				if way.keys != nil && id != "mbuyu-hand" { // which asks for other readings
					continue
				}
				w := newWorld(t, id, session.Language(lang))
				w.store.people["me"] = session.Person{ID: "me", Phone: "+33639983301", Role: session.Grower, Name: "Asha", District: "Kisima", Language: session.Language(lang), Consent: session.Consent{Version: 1, Given: true}}
				h := &handset{world: w, number: "+33639983301"}
				say := func(key string) string { return w.machine.Words.Text(lang, key) }
				var text string
				if way.keys != nil {
					text = strings.Join(h.pages(t, session.USSD, way.keys...), " ")
				} else {
					text = h.all(t, lot+way.sms)
				}
				all, _ := w.store.list(1, func(session.Check) bool { return true })
				if len(all) == 0 || !all[0].Infested() {
					t.Fatalf("%s, %s, %s: no insect is filed:\n%s", lang, id, way.name, text)
				}
				named := say("flag.live_others") + " " + way.number
				if n, _ := all[0].Readings.Get(grading.LiveWeevils); n > 0 {
					named = say("flag.live_weevils") + " " + way.number
				}
				if !strings.Contains(text, named) || !strings.Contains(text, say("remedy.clear_insects.do")) {
					t.Errorf("%s, %s, %s: no %q, or no remedy, in\n%s", lang, id, way.name, named, text)
				}
				for _, praise := range []string{"grade.best", "remedy.keep_well.do"} {
					if strings.Contains(text, say(praise)) {
						t.Errorf("%s, %s, %s: it is praised:\n%s", lang, id, way.name, text)
					}
				}
				if buyer := must(t, (&handset{world: w, number: "+447700900555"}).sms, string(all[0].Slip)); !strings.Contains(buyer, named) {
					t.Errorf("%s, %s, %s: a buyer is told\n%s", lang, id, way.name, buyer)
				}
			}
		}
	}
}

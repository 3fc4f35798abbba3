package screen_test

import (
	"strings"
	"testing"

	"threshline/session"
)

// Whoever looks up a lot that is no food is told so by an answer that no day's
// money holds back; the answer about a good lot is like any other.
func TestASlipThatSaysStopIsHeldBackByNoLimit(t *testing.T) {
	for _, lang := range []session.Language{"en", "fr", "sw", "ha"} {
		w := newWorld(t, "agmark-paddy", "en", lang)
		grower, buyer := known(w, "+33639985601", session.Grower), known(w, "+33639985602", session.Buyer)
		p := w.store.people["known +33639985602"]
		p.Language = lang
		w.store.people[p.ID] = p
		for sign, stop := range map[string]bool{"BAG 8x75 OK": false, "BAG 20x75 mould": true} {
			filed := len(w.store.checks)
			if _, err := grower.sms("M 13.1 13.2 13.1 S 200 O 0.4 I 0.1 B 155.2 T 0.2 C 100 P 0 Y 0 R 0 V 0 " + sign); err != nil || len(w.store.checks) != filed+1 {
				t.Fatalf("%s, %s: %d checks, %v", lang, sign, len(w.store.checks), err)
			}
			var slip session.Slip
			for s, c := range w.store.checks {
				if len(c.Readings.Flags) > 0 == stop {
					slip = s
				}
			}
			r, err := buyer.sms(string(slip))
			if err != nil || !strings.Contains(r.Text, string(slip)) || r.Safety != stop {
				t.Errorf("%s, a lot with %q: %q, safety %v, %v", lang, sign, r.Text, r.Safety, err)
			}
		}
	}
}

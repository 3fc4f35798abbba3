package screen_test

import (
	"strings"
	"testing"

	"threshline/grading"
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

// Every answer about a lot that is no food, to whoever checked it, is held back by no
// limit either: the grade, how, why, and a re-check that nobody looked at.
func TestEveryAnswerOfALotThatIsNoFoodIsHeldBackByNoLimit(t *testing.T) {
	for _, lang := range []string{"en", "fr", "sw", "ha"} {
		for _, sign := range []string{"mouldy", "musty", "treated seed", "chemical smell"} {
			h, send := asha(t, lang)
			slip := send(unlooked + " " + sign).Slip
			again := "recheck " + string(slip) + strings.TrimSuffix(" "+unlooked, "bag 8")
			for _, entry := range []string{"1", "9", "0", "2", "9", "0", again, "99", "1", "what"} {
				r, err := h.sms(entry)
				if asked := entry == again || entry == "99"; err != nil || !asked && !r.Safety {
					t.Errorf("%s, %q, %s: may be held back, %v:\n%s", lang, entry, sign, err, r.Text)
				}
			}
			if last := h.world.slip(); last == slip || h.world.store.checks[last].Readings.Looked != grading.NotLooked {
				t.Errorf("%s, %s: the re-check %s was looked at", lang, sign, last)
			}
		}
	}
}

// A slip that comes by SMS is looked up although the phone's USSD session stands
// where another was mistyped.
func TestASlipBySMSIsLookedUpWhereAnotherWasMistyped(t *testing.T) {
	w := newWorld(t, "agmark-paddy", "en")
	grower, buyer := known(w, "+33639985601", session.Grower), known(w, "+33639985602", session.Buyer)
	if _, err := grower.sms("M 13.1 13.2 13.1 S 200 O 0.4 I 0.1 B 155.2 T 0.2 C 100 P 0 Y 0 R 0 V 0 BAG 8x75 mould"); err != nil || len(w.store.checks) != 1 {
		t.Fatal(len(w.store.checks), err)
	}
	if _, err := buyer.dial(); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"4", "2345"} {
		if _, err := buyer.key(key); err != nil {
			t.Fatal(err)
		}
	}
	for slip := range w.store.checks {
		r, err := buyer.sms(string(slip))
		if err != nil || !strings.Contains(r.Text, string(slip)) || !strings.Contains(r.Text, "Not to be eaten") || !r.Safety {
			t.Errorf("%q, safety %v, %v", r.Text, r.Safety, err)
		}
	}
}

// The caution of a danger that is said of no lot goes out whatever is spent.
func TestTheCautionOfADangerOfNoLotIsHeldBackByNothing(t *testing.T) {
	for lang, danger := range map[session.Language]string{"en": "mouldy", "fr": "moisi", "sw": "ukungu", "ha": "hunhuna"} {
		w := newWorld(t, "agmark-paddy", lang)
		grower := known(w, "+33639985603", session.Grower)
		if r, err := grower.sms("menu"); err != nil || r.Safety {
			t.Errorf("%s: the menu is safety %v, %v", lang, r.Safety, err)
		}
		if r, err := grower.sms(danger); err != nil || !r.Safety {
			t.Errorf("%s: %q is answered %q, safety %v, %v", lang, danger, r.Text, r.Safety, err)
		}
	}
}

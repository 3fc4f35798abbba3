package screen_test

import (
	"regexp"
	"strings"
	"testing"

	"threshline/session"
)

// Every answer of a filed check says how much the lot is, in full or as 8x75 kg: in
// every language, by either kind of channel. It stands on the first page but where a
// caution, or what was not measured, leaves no room.
func TestEveryGradeSaysHowMuchTheLotIs(t *testing.T) {
	for _, lang := range newWorld(t, "agmark-paddy").machine.Words.Languages() {
		for _, id := range []string{"agmark-paddy", "mbuyu-hand"} {
			for _, lot := range gradeLots {
				for _, kind := range []session.Kind{session.USSD, session.SMS} {
					w := newWorld(t, id, session.Language(lang))
					h := known(w, walker, session.Grower)
					c, _ := seeded(t, w, gradeReadings(t, lot.lot, lot.flags))
					send := h.sms
					if kind == session.USSD {
						send = h.key
					}
					page := h.firstPage(t, kind)
					if !saysEight(w, lang, page) && !lot.cautions && len(c.Missing) == 0 {
						t.Errorf("%s %s %s %s: not how much it is:\n%s", lang, id, lot.name, kind, page)
					}
					if page += must(t, send, "9"); !saysEight(w, lang, page) {
						t.Errorf("%s %s %s %s: nowhere how much it is:\n%s", lang, id, lot.name, kind, page)
					}
				}
			}
		}
	}
}

// The answer to a whole check in one message does so too, while nobody has looked at
// the lot, on the next page where a danger leaves no room.
func TestAnAnswerToALotNotLookedAtSaysHowMuchItIs(t *testing.T) {
	for _, lang := range []string{"en", "fr", "sw", "ha"} {
		for _, lot := range []string{
			unlooked, strings.Replace(unlooked, "13.0 13.1 13.0", "16.4 16.5 16.4", 1), strings.Replace(unlooked, "O 1.0", "O 7", 1),
			strings.Replace(unlooked, "R 0", "R 3", 1), strings.Replace(unlooked, "I 0.4", "I 4", 1), unlooked + " mouldy", unlooked + " weevils 2",
		} {
			h, _ := asha(t, lang)
			page := must(t, h.sms, lot)
			if len(h.world.store.checks) != 1 {
				t.Fatalf("%s: not filed:\n%s", lang, page)
			}
			if strings.ContainsAny(lot, "mw") { // a danger may take the room
				page += must(t, h.sms, "9")
			}
			if !saysEight(h.world, lang, page) {
				t.Errorf("%s, %q: not how much it is:\n%s", lang, lot, page)
			}
		}
	}
}

// Several lots are each told with it, by the numbers of their growers if need be.
func TestSeveralLotsAreToldWithHowMuchTheyAre(t *testing.T) {
	for _, lang := range []string{"en", "fr", "sw", "ha"} {
		h := agentWith(t, lang, eight...)
		text := must(t, h.sms, "G1"+goodLot+" OK\nG2"+goodLot+" mouldy\nG3"+goodLot+" OK\nG4"+chaffyLot+" OK\nG5"+goodLot+"\nG8 M 13 BAG 8")
		if n := len(shortly.FindAllString(text, -1)); n != 6 && strings.Count(text, h.world.machine.Words.Text(lang, "amount.bags", "bags", 8, "kg", "600")) != 6 {
			t.Errorf("%s: of %d lots of 6\n%s", lang, n, text)
		}
	}
}

var shortly = regexp.MustCompile(`\b8x75 kg`)

func saysEight(w *world, lang, page string) bool {
	return shortly.MatchString(page) || strings.Contains(page, w.machine.Words.Text(lang, "amount.bags", "bags", 8, "kg", "600"))
}

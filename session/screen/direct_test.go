package screen_test

import (
	"testing"

	"threshline/grading"
	"threshline/session"
)

// What is answered without a screen has no second page: it fits in every
// language with the longest values.
func TestAnswersWithoutAScreenFit(t *testing.T) {
	words := newWorld(t, "agmark-paddy").machine.Words
	for _, lang := range words.Languages() {
		for _, c := range []session.Check{
			{State: session.Filed, Grade: "III", Rank: 3, Of: 4, Recheck: "22X2222"},
			{State: session.Filed, Grade: "Not accepted", Rank: 5, Of: 4, Complete: true, Recheck: "22X2222"},
			{State: session.Withdrawn, Grade: "III", Rank: 3, Of: 4},
			{State: session.Corrected, Grade: "III", Rank: 3, Of: 4, ReplacedBy: "22X2222"},
		} {
			w := newWorld(t, "in-kms-punjab-2025", session.Language(lang))
			c.Slip, c.At, c.StandardID = session.NewSlip(5), w.now, "in-kms-punjab-2025"
			c.Lot = session.Lot{Bags: 5000, KG: 749950 * grading.One}
			c.Readings.Set(grading.Moisture, 39*grading.One+5000)
			w.store.checks[c.Slip] = c
			h := &handset{world: w, number: "+447700900300"}
			for _, text := range []string{string(c.Slip), "222222A", "22222AA", "HELP", "STOP", "hello", "START"} {
				r, err := h.sms(text)
				if err != nil {
					t.Fatal(err)
				}
				if n, ok := count(r.Text); !ok || n > budget.Septets {
					t.Errorf("%s, %q: %d septets, GSM-7 %v: %q", lang, text, n, ok, r.Text)
				}
			}
		}
	}
}

// What goes out by itself fits one message in every language.
func TestRemindersFitOneMessage(t *testing.T) {
	words := newWorld(t, "agmark-paddy").machine.Words
	for _, lang := range words.Languages() {
		for _, key := range []string{"remind.dry", "remind.recheck", "remind.recheck_later", "remind.unfinished", "stop.done", "stop.told"} {
			text := words.Text(lang, key, "slip", "22X2222", "count", 9)
			if n, ok := count(text); !ok || n > 160 {
				t.Errorf("%s, %s: %d septets, GSM-7 %v: %q", lang, key, n, ok, text)
			}
		}
	}
}

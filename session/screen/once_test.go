package screen_test

import (
	"slices"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session"
)

// Mould does not go away, and what was seen is asked for again: who checks the
// lot again and says nothing of it has not said that it is gone. After that the
// grower, the coordinator and a buyer are told of it at every re-check, in every
// language, and nobody is told that the lot is worth more. Insects are driven out.
func TestWhatWasSeenIsAskedAgainAndMouldIsNotForgotten(t *testing.T) {
	for _, lang := range newWorld(t, "mbuyu-hand").machine.Words.Languages() {
		for _, c := range []struct {
			seen, what string
			poison     bool
		}{
			{"mouldy", "flag.mouldy", true},
			{"smell", "flag.musty", true},
			{"painted mouldy", "flag.treated_seed", true},
			{"hot", "flag.warm", false},
			{"weevils 3", "parameter.live_insects", false},
		} {
			h, send := asha(t, lang)
			head(h.world, "+33639985001", "Kisima", func(p *session.Person) { p.Language = session.Language(lang) })
			text := func(key string) string { return h.world.machine.Words.Text(lang, key) }
			first := send("M 19 19.1 19.2 S 200 O 1.0 I 0.4 B 152.6 T 1.2 P 0 Y 1 R 0 bag 8 " + c.seen)
			if told(h.world)["+33639985001"] == "" {
				t.Fatalf("%s, %s: nobody is alerted", lang, c.seen)
			}
			last := first
			for range 2 {
				again := "recheck " + string(last.Slip) + " M 13.1 13.0 13.2 S 200 O 1.2 I 0.4 B 152.4 T 1.4 P 0 Y 1 R 1"
				if last.Slip != first.Slip {
					again += " OK"
				}
				asked := h.all(t, again)
				if last.Slip == first.Slip && !strings.Contains(asked, text("seen.ask")) {
					t.Fatalf("%s, %s: filed unasked:\n%s", lang, c.seen, asked)
				}
				if last.Slip == first.Slip {
					must(t, h.sms, "1")
					asked = must(t, h.sms, "1")
				}
				all, _ := h.world.store.list(1, func(session.Check) bool { return true })
				if all[0].Recheck != last.Slip {
					t.Fatalf("%s, %s: it was not checked again:\n%s", lang, c.seen, asked)
				}
				last = all[0]
				page := h.all(t, "2", "1")
				once := sentence(text("recheck.once"), string(first.Slip), text(c.what))
				if strings.Contains(page, once) != c.poison {
					t.Errorf("%s, %s: %q: %v, want %v\n%s", lang, c.seen, once, !c.poison, c.poison, page)
				}
				if worth, _, _ := strings.Cut(text("recheck.earned"), "{"); c.poison && strings.Contains(page, worth) {
					t.Errorf("%s, %s: it is worth more:\n%s", lang, c.seen, page)
				}
				alert := told(h.world)["+33639985001"]
				if strings.Contains(alert, text("alert.never")) != c.poison || strings.Contains(alert, text(c.what)) != c.poison {
					t.Errorf("%s, %s: the coordinator is told %q", lang, c.seen, alert)
				}
				buyer := must(t, (&handset{world: h.world, number: "+447700900555"}).sms, string(last.Slip))
				if strings.Contains(buyer, text(c.what)) != c.poison || !c.poison && strings.Contains(buyer, string(first.Slip)) != (last.Recheck == first.Slip) ||
					c.poison && !strings.Contains(buyer, text("held.lab")) && !strings.Contains(buyer, text("held.seed")) {
					t.Errorf("%s, %s: a buyer is told\n%s", lang, c.seen, buyer)
				}
				if n, ok := count(buyer); !ok || n > budget.Septets {
					t.Errorf("%s, %s: %d septets\n%s", lang, c.seen, n, buyer)
				}
			}
		}
	}
}

// sentence is the first of a text, up to where what was seen is named.
func sentence(text, slip, what string) string {
	begin, _, _ := strings.Cut(text, "{what}")
	return strings.ReplaceAll(begin, "{slip}", slip) + what
}

// What is said of a lot that nobody may eat is not corrected away: who mistook
// dust for mould goes to the laboratory, or the mould would be eaten.
func TestMouldIsNotCorrectedAway(t *testing.T) {
	h, send := asha(t, "en")
	first := send("M 19 19.1 19.2 S 200 O 1.0 I 0.4 B 152.6 T 1.2 P 0 Y 1 R 0 bag 8 mouldy")
	h.all(t, "2", "1", "3", "1", "8 1", "1")
	all, _ := h.world.store.list(1, func(c session.Check) bool { return c.State == session.Filed })
	corrected := all[0]
	last := send("recheck " + string(corrected.Slip) + " M 13.1 13.0 13.2 OK")
	for _, c := range []session.Check{corrected, last} {
		if c.Rank <= c.Of || !slices.Equal(c.Held, []grading.Flag{grading.Mouldy}) || c.HeldFrom != first.Slip {
			t.Errorf("%s: %s, holds %v from %s", c.Slip, c.Grade, c.Held, c.HeldFrom)
		}
	}
	if page := h.all(t, "2", "1"); !strings.Contains(page, "Before ("+string(first.Slip)+") it had mould. Not accepted until a laboratory clears it.") || strings.Contains(page, "Worth about") {
		t.Errorf("%s", page)
	}
}

// A table without moisture compares it all the same: it was to be dried, and it
// was dried.
func TestDryingIsSeenByATableWithoutMoisture(t *testing.T) {
	for _, c := range []struct{ again, want string }{
		{"13 13.1 13.2", "Measured: moisture 19.1% to 13.1%."},
		{"18.9 19 19", "Measured: moisture 19.1% to 19.0% (may be chance)."},
		{"19.1 19.1 19.1", "No value has changed."},
	} {
		w := newWorld(t, "fci-storage", "en")
		w.store.people["me"] = session.Person{ID: "me", Phone: "+33639983301", Role: session.Grower, Name: "Asha", Language: "en", Consent: session.Consent{Version: 1, Given: true}}
		h := &handset{world: w, number: "+33639983301"}
		h.all(t, "M 19 19.1 19.2 S 200 O 1.4 I 0.2 B 155 T 0.5 P 0 Y 0 R 2 bag 8 OK")
		all, _ := w.store.list(1, func(session.Check) bool { return true })
		if text := h.all(t, "recheck "+string(all[0].Slip)+" M "+c.again+" S 200 O 1.4 I 0.2 B 155 T 0.5 P 0 Y 0 R 2 OK"); !strings.Contains(text, c.want) {
			t.Errorf("%s: no %q in\n%s", c.again, c.want, text)
		}
	}
}

// The number of who looks up the slip of a lot that nobody may eat is kept for 60
// days and then let go without a word; that of any other slip is not kept.
func TestWhoLookedASlipUpIsKeptForAWhile(t *testing.T) {
	h, send := asha(t, "en")
	good := send("M 13 13.1 13.2 S 200 O 1.0 I 0.4 B 155 T 1.2 P 0 Y 1 R 0 bag 30 OK")
	mouldy := send("M 13 13.1 13.2 S 200 O 1.0 I 0.4 B 155 T 1.2 P 0 Y 1 R 0 bag 8 mouldy")
	buyer := &handset{world: h.world, number: "+447700900555"}
	kept := func(slip session.Slip) int {
		notes, err := h.world.store.Looked(slip)
		if err != nil {
			t.Fatal(err)
		}
		return len(notes)
	}
	for _, phone := range []*handset{buyer, h, buyer} {
		for _, slip := range []session.Slip{good.Slip, mouldy.Slip} {
			must(t, phone.sms, string(slip))
		}
	}
	if kept(good.Slip) != 0 || kept(mouldy.Slip) != 1 {
		t.Errorf("kept: %d of the good lot, %d of the mouldy one", kept(good.Slip), kept(mouldy.Slip))
	}
	sent := fire(t, h.world, h.world.now.AddDate(0, 0, 61))
	if kept(mouldy.Slip) != 0 || len(sent[buyer.number]) != 0 {
		t.Errorf("after 60 days: %d kept, told %v", kept(mouldy.Slip), sent[buyer.number])
	}
}

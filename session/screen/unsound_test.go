package screen_test

import (
	"fmt"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session"
)

const (
	closeLot   = "M 13.0 13.1 13.0 S 200 O 1.0 I 0.4 B 152.6 T 1.2 P 0 Y 1 R 3 bag 8 OK"
	nextSample = " M 13.1 13.0 13.2 S 200 O 1.2 I 0.4 B 152.4 T 1.4 P 0 Y 1 R 1 OK"
)

// asha is a grower's phone, and how she files a check by SMS.
func asha(t *testing.T, lang string) (*handset, func(string) session.Check) {
	t.Helper()
	w := newWorld(t, "mbuyu-hand", session.Language(lang))
	w.machine.Programme.Advice.Prices = map[grading.GradeLabel]grading.Decimal{ // invented
		"Grade 1": grading.NewDecimal(58), "Grade 2": grading.NewDecimal(52), "Grade 3": grading.NewDecimal(45),
	}
	w.machine.Programme.Advice.OutPrice = grading.NewDecimal(34)
	me := session.Person{
		ID: "me", Phone: "+33639983301", Role: session.Grower, Name: "Asha", District: "Kisima",
		Language: session.Language(lang), Consent: session.Consent{Version: 1, Given: true},
	}
	w.store.people["me"] = me
	h := &handset{world: w, number: me.Phone}
	return h, func(text string) session.Check {
		t.Helper()
		if _, err := h.sms(text); err != nil {
			t.Fatal(err)
		}
		all, _ := w.store.list(1, func(session.Check) bool { return true })
		return all[0]
	}
}

// all is what an SMS is answered, over all pages.
func (h *handset) all(t *testing.T, texts ...string) string {
	t.Helper()
	return strings.Join(h.pages(t, session.SMS, texts...), " ")
}

// Two samples make grade 1 together. Once the first was not what it was said to
// be, neither the grower nor a buyer is told that they do: 9 of 100 red and 1 of
// 100 are 5 %, and what is withdrawn is nothing.
func TestAPooledSampleFallsWithTheSampleItCounts(t *testing.T) {
	for _, c := range []struct {
		name  string
		mend  []string
		holds bool
	}{
		{"it stands", nil, true},
		{"the first was withdrawn", []string{"2", "2", "3", "2", "1"}, false},
		{"the first was corrected to other readings", []string{"2", "2", "3", "1", "7", "0 1 9", "1"}, false},
		{"mould was seen in the first", []string{"2", "2", "3", "1", "8 3", "1"}, false},
		{"its bags were corrected", []string{"2", "2", "3", "1", "2", "9", "1"}, true},
	} {
		h, send := asha(t, "en")
		first := send(closeLot)
		both := send("recheck " + string(first.Slip) + nextSample)
		if !both.Pooled() || both.Grade != "Grade 1" {
			t.Fatalf("pooled %v, %s", both.Pooled(), both.Grade)
		}
		if c.mend != nil {
			h.all(t, c.mend...)
		}
		if is, _ := h.world.store.Check(first.Slip); c.mend != nil && is.State == session.Filed {
			t.Fatalf("%s: it is still filed", c.name)
		}
		stranger := &handset{world: h.world, number: "+447700900555"}
		for who, text := range map[string]string{
			"a stranger": must(t, stranger.sms, string(both.Slip)), "the grower": h.all(t, string(both.Slip)),
		} {
			if strings.Contains(text, "Do not use it: check the lot again.") == c.holds || strings.Contains(text, "Grade 1") != c.holds {
				t.Errorf("%s, to %s: holds %v\n%s", c.name, who, c.holds, text)
			}
		}
		mine := h.all(t, "2", "1")
		if c.mend != nil && c.mend[3] == "1" {
			mine = h.all(t, "2", "2")
		}
		mine = strings.Join(strings.Fields(strings.ReplaceAll(mine, "9 More 0 Back", "")), " ")
		if strings.Contains(mine, "counts "+string(first.Slip)+", which was changed since") == c.holds ||
			strings.Contains(mine, "together. Was grade 2, now grade 1.") != c.holds {
			t.Errorf("%s, on its page: holds %v\n%s", c.name, c.holds, mine)
		}
		third := send("recheck " + string(both.Slip) + nextSample)
		if third.Pooled() && !c.holds {
			t.Errorf("%s: a third sample is counted with them", c.name)
		}
	}
}

// What has fallen is mended by correcting it, be it only to say the same again:
// it then counts the first sample as that stands now, 10 red of 200, 5 %.
func TestAPooledSampleIsMendedByCorrectingIt(t *testing.T) {
	h, send := asha(t, "en")
	first := send(closeLot)
	both := send("recheck " + string(first.Slip) + nextSample)
	h.all(t, "2", "2", "3", "1", "7", "0 1 9", "1") // the first: 9 red, not 3
	h.all(t, "2", "2", "3", "1", "1")               // this one, as it was
	all, _ := h.world.store.list(1, func(c session.Check) bool { return c.State == session.Filed && c.Pooled() })
	if len(all) != 1 || all[0].Slip == both.Slip {
		t.Fatalf("%d pooled checks stand, want one that is new", len(all))
	}
	red, _ := all[0].Readings.Get(grading.Red)
	text := h.all(t, string(all[0].Slip))
	if red != grading.NewDecimal(10) || all[0].Grade != "Grade 2" || strings.Contains(text, "changed since") || !strings.Contains(text, "together") {
		t.Errorf("%s red, %s:\n%s", red, all[0].Grade, text)
	}
}

func must(t *testing.T, send func(string) (session.Reply, error), text string) string {
	t.Helper()
	r, err := send(text)
	if err != nil {
		t.Fatal(err)
	}
	return r.Text
}

// A lot is not checked again from readings that hold no more.
func TestWhatWasWithdrawnOrCorrectedIsNotCheckedAgain(t *testing.T) {
	for _, mend := range [][]string{{"2", "1", "3", "2", "1"}, {"2", "1", "3", "1", "7", "0 1 9", "1"}} {
		h, send := asha(t, "en")
		first := send(closeLot)
		h.all(t, mend...)
		before := len(h.world.store.checks)
		text := h.all(t, "recheck "+string(first.Slip)+nextSample)
		if after := len(h.world.store.checks); after != before || !strings.Contains(text, "Slip "+string(first.Slip)+" was ") {
			t.Errorf("after %q: %d checks, then %d:\n%s", mend, before, after, text)
		}
	}
}

// Money is told to those whose lot it is: a coordinator of another district gets
// what a buyer gets, and cannot go on with the lot.
func TestACoordinatorOfAnotherDistrictIsABuyer(t *testing.T) {
	for district, concerned := range map[string]bool{"Kisima": true, "": true, "Korongo": false} {
		h, send := asha(t, "en")
		first := send("M 13.0 13.1 13.0 S 200 O 4.6 I 0.4 B 152.2 T 1.2 P 0 Y 2 R 1 bag 8")
		again := send("recheck " + string(first.Slip) + " S 199.6 O 0.6 I 0.4 B 152.2 T 1.2")
		if again.Recheck != first.Slip {
			t.Fatal("it was not checked again")
		}
		head(h.world, "+33639985001", district, nil)
		pendo := &handset{world: h.world, number: "+33639985001"}
		if text := pendo.all(t, string(again.Slip)); strings.Contains(text, "more.") != concerned {
			t.Errorf("to a coordinator of %q:\n%s", district, text)
		}
		if text := pendo.all(t, "recheck "+string(again.Slip)+" M 13 13.1 13.2"); strings.Contains(text, "is not yours") == concerned {
			t.Errorf("to a coordinator of %q:\n%s", district, text)
		}
	}
}

// What may be chance is worth nothing: a bag that was not weighed again has not
// lost 80 a lot because the meter shows a tenth less.
func TestNoMoneyForWhatMayBeChance(t *testing.T) {
	h, send := asha(t, "en")
	first := send("M 13.3 13.4 13.2 S 200 O 1.0 I 0.4 B 152.6 T 1.2 P 0 Y 1 R 0 bag 8 OK")
	text := h.all(t, "recheck "+string(first.Slip)+" M 13.0 13.1 13.2 OK")
	if !strings.Contains(text, "may be chance") || strings.Contains(text, "Worth") {
		t.Errorf("money for chance:\n%s", text)
	}
}

// A buyer learns of mould from the slip itself, whatever the table makes of it
// (a storage table has no gate for it),
// and a stranger's answer is one message in every language.
func TestASlipSaysWhatNobodyShouldEat(t *testing.T) {
	for _, standard := range []string{"fci-storage", "mbuyu-hand", "in-kms-punjab-2025"} {
		words := newWorld(t, standard).machine.Words
		for _, lang := range words.Languages() {
			for flags, poison := range map[string]bool{"": false, "hot": false, "mouldy": true, "painted mouldy smell hot weevils 3": true} {
				w := newWorld(t, standard, session.Language(lang))
				grower := session.Person{ID: "g", Phone: "+33639985502", Role: session.Grower, Name: "Asha", Language: session.Language(lang), Consent: session.Consent{Version: 1, Given: true}}
				w.store.people["g"] = grower
				h := &handset{world: w, number: grower.Phone}
				h.all(t, "M 22 22.1 22 S 200 O 1.4 I 0.2 B 155 T 0.5 P 0 Y 0 R 2 V 0 bag 999 kg 74925 "+flags)
				all, _ := w.store.list(1, func(session.Check) bool { return true })
				if len(all) != 1 {
					t.Fatalf("%s, %s, %q: %d checks", standard, lang, flags, len(all))
				}
				text := must(t, (&handset{world: w, number: "+447700900555"}).sms, string(all[0].Slip))
				if strings.Contains(text, words.Text(lang, "alert.never")) != poison {
					t.Errorf("%s, %s, %q:\n%s", standard, lang, flags, text)
				}
				if n, ok := count(text); !ok || n > budget.Septets {
					t.Errorf("%s, %s, %q: %d septets\n%s", standard, lang, fmt.Sprint(flags), n, text)
				}
			}
		}
	}
}

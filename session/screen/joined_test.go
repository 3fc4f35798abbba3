package screen_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"threshline/session"
)

// fire does what is due at a time, and gives what was sent to whom.
func fire(t *testing.T, w *world, at time.Time) map[session.Phone][]session.Outgoing {
	t.Helper()
	w.now, w.store.outgoing = at, nil
	for due := w.store.due(at); len(due) > 0; due = w.store.due(at) {
		w.turns++
		out, err := w.machine.Remind(w.store, due, at, [2]uint64{5, w.turns}, budget)
		if err == nil {
			err = w.store.apply(due[0].Phone, out)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	sent := map[session.Phone][]session.Outgoing{}
	for _, o := range w.store.outgoing {
		sent[o.To] = append(sent[o.To], o)
	}
	w.store.outgoing = nil
	return sent
}

// One phone files eight bad lots in an hour: the coordinator is told of three
// one by one, and at the full hour of the others in one message. The next day
// begins anew.
func TestAlertsOfOneReporterAreJoinedAfterTheThirdOfADay(t *testing.T) {
	w := newWorld(t, "agmark-paddy", "en")
	h := kisimaAgent(w)
	const chief = session.Phone("+33639983501")
	head(w, chief, "Kisima", nil)
	mouldy := fmt.Sprintf(lotOfKisima, "13.1 13.2 13.3") + " mouldy"
	file := func(text string) bool {
		t.Helper()
		w.now = w.now.Add(time.Minute)
		if _, err := h.sms("G1 " + text); err != nil {
			t.Fatal(err)
		}
		return told(w)[chief] != ""
	}
	var slips []session.Slip
	for i := range 8 {
		lot := mouldy
		if i == 7 { // insects are gone with the check; mould would not be
			lot = strings.Replace(fmt.Sprintf(lotOfKisima, "13.1 13.2 13.3"), "bag 10 OK", "bag 40 weevils 2 OK", 1)
		}
		if alone := file(lot); alone != (i < 3) {
			t.Errorf("lot %d was told alone: %v", i+1, alone)
		}
		slips = append(slips, h.slip())
	}
	for _, entry := range []string{"3", "2", "1"} { // the last one is withdrawn again
		if _, err := h.sms(entry); err != nil {
			t.Fatal(err)
		}
	}
	if w.store.checks[slips[7]].State != session.Withdrawn || told(w)[chief] != "" {
		t.Fatal("the eighth lot was not withdrawn, or told alone")
	}
	file(fmt.Sprintf(lotOfKisima, "13.1 13.2 13.3")) // nothing wrong with this one
	hour := w.now.Truncate(time.Hour).Add(time.Hour)
	if sent := fire(t, w, hour.Add(-time.Second)); len(sent) != 0 {
		t.Errorf("before the hour: %v", sent)
	}
	sent := fire(t, w, hour)[chief]
	if len(sent) != 1 || sent[0].Purpose != session.Alerts {
		t.Fatalf("at the hour: %+v", sent)
	}
	for _, want := range append(texts(slips[3:8]), "Alerts: 4 more", "mould", "Not to be eaten", "taken back or over: 1") {
		if !strings.Contains(sent[0].Text, want) {
			t.Errorf("%q does not say %q", sent[0].Text, want)
		}
	}
	if again := fire(t, w, hour.Add(time.Hour)); len(again[chief]) != 0 {
		t.Errorf("told again: %v", again)
	}
	w.now = w.now.AddDate(0, 0, 1)
	if !file(mouldy) {
		t.Error("the first lot of the next day was not told alone")
	}
}

func texts(slips []session.Slip) (out []string) {
	for _, s := range slips {
		out = append(out, string(s))
	}
	return out
}

// However many lots, and whatever is wrong with them: one message, the caution in
// it, at least one slip; and when it comes back as an echo nobody hears it.
func TestJoinedAlertsFitOneMessageInEveryLanguage(t *testing.T) {
	for _, lang := range newWorld(t, "agmark-paddy").machine.Words.Languages() {
		for _, seen := range []string{"", " mouldy", " painted mouldy smell hot weevils 99 insects 99"} {
			w := newWorld(t, "agmark-paddy", "en", session.Language(lang))
			h := kisimaAgent(w)
			for id, p := range w.store.people {
				p.Name = "Mwanahamisi-Ramadhani Ab"
				w.store.people[id] = p
			}
			const chief = session.Phone("+33639983501")
			head(w, chief, "", func(p *session.Person) { p.Language = session.Language(lang) })
			for i := range 40 {
				w.now = w.now.Add(5 * time.Second)
				if _, err := h.sms("G1 " + fmt.Sprintf(lotOfKisima, fmt.Sprintf("29.15 29.25 29.%d", 30+i)) + seen); err != nil {
					t.Fatal(err)
				}
			}
			sent := fire(t, w, w.now.Add(time.Hour))[chief]
			if len(sent) != 1 {
				t.Fatalf("%s%s: %d messages", lang, seen, len(sent))
			}
			text := sent[0].Text
			never := strings.Contains(text, w.machine.Words.Text(lang, "alert.never"))
			if !w.fits(text) || !strings.Contains(text, "37") || never != strings.Contains(seen, "mouldy") || !strings.Contains(text, string(h.slip())) {
				t.Errorf("%s%s: %q", lang, seen, text)
			}
			if len(seen) < 20 && !strings.Contains(text, "Mwanahamisi") && lang == "en" {
				t.Errorf("%s%s does not say who: %q", lang, seen, text)
			}
			back := &handset{world: w, number: chief}
			if r, err := back.sms(text); err != nil || !r.Silent {
				t.Errorf("%s%s: sent back it was answered %q, %v", lang, seen, r.Text, err)
			}
		}
	}
}

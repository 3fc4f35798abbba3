package screen_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"threshline/session"
)

// An agent has sixty wet lots to measure again on one day. They are asked of one
// at a time, for which a turn a day is enough; what nobody could be asked of for a
// week is dropped; and of a re-check that was only laid ready nothing is given back.
func TestSixtyRemindersOfOnePhoneComeOneAtATime(t *testing.T) {
	w := newWorld(t, "agmark-paddy", "en")
	h := kisimaAgent(w)
	begun := w.now
	for i := range 60 {
		w.now = w.now.Add(20 * time.Second)
		if _, err := h.sms("G1 " + fmt.Sprintf(lotOfKisima, fmt.Sprintf("16.%d 16.2 16.%d", i/10, i%10))); err != nil {
			t.Fatal(err)
		}
	}
	rechecks := func() (n int) {
		for _, r := range w.store.reminders {
			if r.Kind == session.RecheckKind {
				n++
			}
		}
		return n
	}
	if rechecks() != 60 {
		t.Fatalf("%d reminders of 60 lots", rechecks())
	}
	w.store.outgoing = nil
	turns, asked := 0, []time.Time(nil)
	for hour := 1; hour <= 24*14; hour++ {
		w.now = begun.Add(time.Duration(hour) * time.Hour)
		for due := w.store.due(w.now); len(due) > 0; due = w.store.due(w.now) {
			turns++
			w.turns++
			out, err := w.machine.Remind(w.store, due, w.now, [2]uint64{9, w.turns}, budget)
			if err == nil {
				err = w.store.apply(due[0].Phone, out)
			}
			if err != nil {
				t.Fatal(err)
			}
			for _, o := range out.Outgoing {
				if o.Purpose == session.Reminding && strings.Contains(o.Text, "yet?") {
					asked = append(asked, w.now)
				}
				if strings.Contains(o.Text, "Unfinished check") {
					t.Errorf("after %d hours: %q", hour, o.Text)
				}
			}
		}
	}
	if rechecks() != 0 {
		t.Errorf("%d reminders are still there after two weeks", rechecks())
	}
	if len(asked) < 2 || len(asked) > 10 {
		t.Errorf("asked %d times in a week", len(asked))
	}
	for i := 1; i < len(asked); i++ {
		if asked[i].Sub(asked[i-1]) < 12*time.Hour {
			t.Errorf("asked at %v and at %v", asked[i-1], asked[i])
		}
	}
	if turns > 20 {
		t.Errorf("%d turns in two weeks", turns)
	}
}

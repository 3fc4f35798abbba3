package screen_test

import (
	"fmt"
	"testing"
	"time"

	"threshline/session"
)

func TestAnAgentsWeekComesOnceAWeek(t *testing.T) {
	for _, off := range []time.Duration{5 * time.Second, -2 * time.Minute} { // filed so long after Monday at eight
		w := newWorld(t, "agmark-paddy", "en")
		h := kisimaAgent(w)
		file := func(m string) {
			if _, err := h.sms("G1 " + fmt.Sprintf(lotOfKisima, m)); err != nil {
				t.Fatal(err)
			}
		}
		file("12.1 12.2 12.1")
		monday := w.machine.Programme.NextMonday(w.now)
		weeks := 0
		remind := func(at time.Time) {
			var tally []session.Reminder
			for _, r := range w.store.due(at) {
				if r.Kind == session.TallyKind {
					tally = append(tally, r)
				}
			}
			if len(tally) == 0 {
				return
			}
			w.turns++
			out, err := w.machine.Remind(w.store, tally, at, [2]uint64{9, w.turns}, budget)
			if err == nil {
				err = w.store.apply(tally[0].Phone, out)
			}
			if err != nil {
				t.Fatal(err)
			}
			for _, o := range out.Outgoing {
				if o.Purpose == session.Digest {
					weeks++
				}
			}
		}
		if off < 0 { // another gateway, two minutes ahead, has just sent it
			remind(monday)
		}
		w.now = monday.Add(off)
		file("12.3 12.4 12.3")
		remind(monday.Add(15 * time.Second))
		if weeks != 1 {
			t.Errorf("filed %v after eight: the agent had %d weeks", off, weeks)
		}
	}
}

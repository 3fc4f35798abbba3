package storetest

import (
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"threshline/session"
)

var reminderCases = []testCase{
	{"reminders come due in order, no more than asked for", reminderOrder},
	{"a reminder set again moves, one taken back is gone", reminderMoves},
	{"a reminder fires once, however many try", firesOnce},
	{"a reminder moved or taken back meanwhile does not fire", doesNotFire},
	{"a reminder is fired and set anew in one exchange", firesAndIsSetAnew},
	{"of several with one id the last one counts", lastCounts},
	{"who looked a slip up is found by the slip alone", looked},
}

func reminder(id session.ReminderID, minutes int) session.Reminder {
	return session.Reminder{ID: id, Due: Begin.Add(time.Duration(minutes) * time.Minute), Kind: "recheck", Person: PersonID(1), Phone: Phone(1)}
}

func due(t *testing.T, e Engine, minutes, n int) []session.ReminderID {
	t.Helper()
	list := must(e.Due(ctx, Begin.Add(time.Duration(minutes)*time.Minute), n))(t)
	names := []session.ReminderID{}
	for _, r := range list {
		names = append(names, r.ID)
	}
	return names
}

func reminderOrder(t *testing.T, e Engine) {
	put(t, e, session.Writes{Reminders: []session.Reminder{reminder("c", 3), reminder("a", 1), reminder("b", 2), reminder("d", 1)}})
	for _, c := range []struct {
		minutes, n int
		want       []session.ReminderID
	}{
		{0, 9, []session.ReminderID{}},
		{1, 9, []session.ReminderID{"a", "d"}},
		{3, 9, []session.ReminderID{"a", "d", "b", "c"}},
		{3, 3, []session.ReminderID{"a", "d", "b"}},
	} {
		if got := due(t, e, c.minutes, c.n); !slices.Equal(got, c.want) {
			t.Errorf("after %d minutes, at most %d: %v, want %v", c.minutes, c.n, got, c.want)
		}
	}
}

func reminderMoves(t *testing.T, e Engine) {
	put(t, e, session.Writes{Reminders: []session.Reminder{reminder("a", 1), reminder("b", 1)}})
	put(t, e, session.Writes{Reminders: []session.Reminder{reminder("a", 5), {ID: "b", Cancel: true}, {ID: "never was", Cancel: true}}})
	if got := due(t, e, 4, 9); len(got) != 0 {
		t.Errorf("due early: %v", got)
	}
	if got := due(t, e, 5, 9); !slices.Equal(got, []session.ReminderID{"a"}) {
		t.Errorf("due: %v, want a", got)
	}
}

func fire(e Engine, r session.Reminder) error {
	r.Cancel = true
	_, err := e.Exchange(ctx, session.Key{}, always(session.Writes{
		Reminders: []session.Reminder{r}, Outgoing: []session.Outgoing{Outgoing(1)},
	}))
	return err
}

func firesOnce(t *testing.T, e Engine) {
	put(t, e, session.Writes{Reminders: []session.Reminder{reminder("a", 1)}})
	var fired atomic.Int32
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			if fire(e, reminder("a", 1)) == nil {
				fired.Add(1)
			}
		})
	}
	all.Wait()
	sent, err := e.Sent(ctx, session.Outgoing{}, 9)
	if fired.Load() != 1 || len(sent) != 1 || err != nil {
		t.Errorf("fired %d times, %d messages, %v", fired.Load(), len(sent), err)
	}
	if got := due(t, e, 9, 9); len(got) != 0 {
		t.Errorf("still due: %v", got)
	}
	wantErr(t, "firing again", fire(e, reminder("a", 1)), session.ErrNotFound)
}

func doesNotFire(t *testing.T, e Engine) {
	put(t, e, session.Writes{Reminders: []session.Reminder{reminder("a", 1), reminder("b", 1)}})
	put(t, e, session.Writes{Reminders: []session.Reminder{reminder("a", 60), {ID: "b", Cancel: true}}})
	wantErr(t, "one that was moved", fire(e, reminder("a", 1)), session.ErrNotFound)
	wantErr(t, "one that was taken back", fire(e, reminder("b", 1)), session.ErrNotFound)
	if sent, err := e.Sent(ctx, session.Outgoing{}, 9); err != nil || len(sent) != 0 {
		t.Errorf("%d messages went out, %v", len(sent), err)
	}
	if got := due(t, e, 60, 9); !slices.Equal(got, []session.ReminderID{"a"}) {
		t.Errorf("due: %v, want a", got)
	}
}

// firesAndIsSetAnew is what a weekly reminder does: it comes back a week later.
func firesAndIsSetAnew(t *testing.T, e Engine) {
	put(t, e, session.Writes{Reminders: []session.Reminder{reminder("a", 1)}})
	fired := reminder("a", 1)
	fired.Cancel = true
	put(t, e, session.Writes{Reminders: []session.Reminder{fired, reminder("a", 60)}})
	if got := due(t, e, 59, 9); len(got) != 0 {
		t.Errorf("due early: %v", got)
	}
	if got := due(t, e, 60, 9); !slices.Equal(got, []session.ReminderID{"a"}) {
		t.Errorf("due: %v, want a", got)
	}
	wantErr(t, "firing the old one", fire(e, reminder("a", 1)), session.ErrNotFound)
}

// lastCounts is what a message about two lots does: both set the agent's week.
func lastCounts(t *testing.T, e Engine) {
	put(t, e, session.Writes{Reminders: []session.Reminder{
		reminder("a", 1), reminder("b", 1), reminder("a", 5), {ID: "b", Cancel: true}, {ID: "c", Cancel: true}, reminder("c", 2),
	}})
	for minutes, want := range map[int][]session.ReminderID{1: {}, 4: {"c"}, 5: {"c", "a"}} {
		if got := due(t, e, minutes, 9); !slices.Equal(got, want) {
			t.Errorf("after %d minutes: %v, want %v", minutes, got, want)
		}
	}
}

// looked finds those who looked up a slip, and no longer whoever was told or forgotten.
func looked(t *testing.T, e Engine) {
	note := func(slip session.Slip, i int) session.Reminder {
		return session.Reminder{
			ID: session.LookedID(slip, Phone(i)), Due: Begin.AddDate(0, 2, 0), Kind: session.LookedKind, Phone: Phone(i), Slip: slip, Language: "sw",
		}
	}
	want := []session.Reminder{note(Slip(1), 1), note(Slip(1), 2), note(Slip(1), 3)}
	put(t, e, session.Writes{Reminders: append([]session.Reminder{note(Slip(2), 4), reminder("looked", 1), reminder("lookedz", 1)}, want...)})
	find := func(slip session.Slip) (list []session.Reminder) {
		read(t, e, func(v session.View) (err error) { list, err = v.Looked(slip); return err })
		return list
	}
	same(t, "who looked", want, find(Slip(1)))
	if part := find(Slip(1)[:4]); len(part) > 0 {
		t.Errorf("who looked up a part of a slip: %v", part)
	}
	gone := want[1]
	put(t, e, session.Writes{Reminders: []session.Reminder{{ID: gone.ID, Cancel: true}}, Forget: []session.Trace{{Phone: Phone(3)}}})
	same(t, "who is left", want[:1], find(Slip(1)))
	same(t, "who looked up another", []session.Reminder{note(Slip(2), 4)}, find(Slip(2)))
}

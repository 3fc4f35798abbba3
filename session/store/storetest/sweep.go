package storetest

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"threshline/session"
)

var sweepCases = []testCase{
	{"expired dialogues go, live ones stay", sweepDialogues},
	{"a dialogue in use is not swept at its old time", sweepInUse},
	{"duplicate keys go when their time is over, and not before", sweepDuplicates},
	{"the answers to a phone outlast its dialogue, each for its time", sweepAnswers},
	{"a key that is used again after its time counts anew", sweepReused},
	{"settled messages go after their time, waiting ones stay", sweepMessages},
	{"invitations go when they are good no more, used or not", sweepInvites},
	{"a sweep works in slices", sweepSlices},
	{"nothing filed is ever swept", sweepKeeps},
}

// sweepAll sweeps until nothing more waits and returns how often it took.
func sweepAll(t *testing.T, e Engine, now time.Time, slice int) (rounds int) {
	t.Helper()
	for {
		n := must(e.Sweep(ctx, now, slice))(t)
		rounds++
		if n < slice {
			return rounds
		}
		if rounds > 1000 {
			t.Fatal("the sweep comes to no end")
		}
	}
}

func talk(t *testing.T, e Engine, i int, expires time.Time) {
	t.Helper()
	_, err := e.Exchange(ctx, session.Key{Phone: Phone(i)}, func(v session.View) (session.Writes, error) {
		d, err := v.Dialogue(Phone(i))
		d.Screen, d.Expires = "main", expires
		return session.Writes{Dialogue: &d}, err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func alive(t *testing.T, e Engine, i int) bool {
	t.Helper()
	return dialogue(t, e, Phone(i)).Version != 0
}

func sweepInvites(t *testing.T, e Engine) {
	invites := []session.Invite{
		{Code: "AB12", Role: session.Agent, Expires: Begin.Add(time.Hour)},
		{Code: "CD34", Role: session.Agent, Expires: Begin.Add(time.Hour)},
		{Code: "EF56", Role: session.Agent, Expires: Begin.Add(2 * time.Hour)},
		{Code: "GH78", Role: session.Agent},
	}
	write := func(list ...session.Invite) {
		t.Helper()
		put(t, e, session.Writes{Invites: list})
	}
	there := func(code string) (found bool) {
		t.Helper()
		read(t, e, func(v session.View) error {
			_, err := v.Invite(code)
			if found = err == nil; errors.Is(err, session.ErrNotFound) {
				return nil
			}
			return err
		})
		return found
	}
	write(invites...)
	used := invites[1]
	used.Version, used.Used, used.Expires = 1, true, Begin.Add(3*time.Hour)
	write(used)
	for _, round := range []struct {
		at   time.Duration
		left []bool
	}{{time.Hour - 1, []bool{true, true, true, true}}, {time.Hour, []bool{false, true, true, true}}, {9 * time.Hour, []bool{false, false, false, true}}} {
		sweepAll(t, e, Begin.Add(round.at), 1)
		for i, want := range round.left {
			if got := there(invites[i].Code); got != want {
				t.Errorf("after %v the invitation %s is there: %v, want %v", round.at, invites[i].Code, got, want)
			}
		}
	}
}

func sweepDialogues(t *testing.T, e Engine) {
	talk(t, e, 1, Begin.Add(time.Hour))
	talk(t, e, 2, Begin.Add(time.Hour+1))
	talk(t, e, 3, time.Time{})
	sweepAll(t, e, Begin.Add(time.Hour), 100)
	if alive(t, e, 1) || !alive(t, e, 2) || !alive(t, e, 3) {
		t.Errorf("alive: expired %v, live %v, without an end %v", alive(t, e, 1), alive(t, e, 2), alive(t, e, 3))
	}
	talk(t, e, 1, Begin.Add(2*time.Hour))
	if d := dialogue(t, e, Phone(1)); d.Version == 0 {
		t.Error("a new dialogue after the sweep was not stored")
	}
}

func sweepInUse(t *testing.T, e Engine) {
	talk(t, e, 1, Begin.Add(1*time.Hour))
	talk(t, e, 1, Begin.Add(3*time.Hour))
	talk(t, e, 1, Begin.Add(2*time.Hour))
	talk(t, e, 2, Begin.Add(3*time.Hour))
	talk(t, e, 2, Begin.Add(1*time.Hour))
	sweepAll(t, e, Begin.Add(90*time.Minute), 100)
	if !alive(t, e, 1) || alive(t, e, 2) {
		t.Errorf("after 90 minutes: prolonged %v, shortened %v", alive(t, e, 1), alive(t, e, 2))
	}
	sweepAll(t, e, Begin.Add(119*time.Minute), 100)
	talk(t, e, 1, Begin.Add(150*time.Minute))
	sweepAll(t, e, Begin.Add(149*time.Minute), 100)
	if !alive(t, e, 1) {
		t.Error("a dialogue was swept before its end")
	}
	sweepAll(t, e, Begin.Add(150*time.Minute), 100)
	if alive(t, e, 1) {
		t.Error("a dialogue outlived its end")
	}
}

func sweepDuplicates(t *testing.T, e Engine) {
	key := session.Key{Duplicate: "valley-sms 1", KeepUntil: Begin.Add(time.Hour)}
	deliver := func() bool {
		got := must(e.Exchange(ctx, key, says("hello")))(t)
		return got.Duplicate
	}
	deliver()
	sweepAll(t, e, Begin.Add(time.Hour-1), 100)
	if !deliver() {
		t.Error("a key was forgotten before its time")
	}
	sweepAll(t, e, Begin.Add(time.Hour), 100)
	if deliver() {
		t.Error("a key was kept beyond its time")
	}
}

// sweepAnswers sends many messages from a phone, then lets its dialogue go.
func sweepAnswers(t *testing.T, e Engine) {
	const messages = 60
	end := Begin.Add(time.Hour)
	deliver := func(i int, d *session.Dialogue) session.Outcome {
		key := session.Key{Phone: Phone(1), Duplicate: fmt.Sprint("valley-ussd ", i), KeepUntil: end.Add(time.Duration(i) * time.Minute)}
		got, err := e.Exchange(ctx, key, func(v session.View) (session.Writes, error) {
			before, err := v.Dialogue(Phone(1))
			if d != nil {
				d.Version = before.Version
			}
			return session.Writes{Dialogue: d, Reply: session.Reply{Text: fmt.Sprint("reply ", i), More: i%2 == 0}}, err
		})
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	known := func(when string, from int) {
		t.Helper()
		for i := from; i < messages; i++ {
			want := session.Reply{Text: fmt.Sprint("reply ", i), More: i%2 == 0}
			if got := deliver(i, nil); !got.Duplicate || got.Reply != want {
				t.Errorf("%s, message %d: %+v", when, i, got)
			}
		}
	}
	for i := range messages {
		d := Dialogue(Phone(1))
		d.Expires = end
		switch i % 10 {
		case 4:
			deliver(i, nil) // leaves the dialogue as it is
		case 7:
			deliver(i, &session.Dialogue{Phone: Phone(1)}) // removes it
		default:
			deliver(i, &d)
		}
		if got := deliver(i, nil); !got.Duplicate {
			t.Errorf("message %d again: %+v", i, got)
		}
	}
	known("before any sweep", 0)
	sweepAll(t, e, end.Add(-1), 7)
	known("before the first is over", 0)
	sweepAll(t, e, end.Add(20*time.Minute), 7)
	if alive(t, e, 1) {
		t.Error("the dialogue outlived its end")
	}
	known("after its dialogue", 21)
	for i := range 21 {
		if got := deliver(i, nil); got.Duplicate {
			t.Errorf("message %d was kept beyond its time", i)
		}
	}
}

func sweepReused(t *testing.T, e Engine) {
	until := Begin
	deliver := func(id int) bool {
		d := Dialogue(Phone(1))
		d.Expires = Begin.AddDate(1, 0, 0)
		key := session.Key{Phone: Phone(1), Duplicate: fmt.Sprint("valley-ussd ", id), KeepUntil: until}
		got := must(e.Exchange(ctx, key, func(session.View) (session.Writes, error) { return session.Writes{Dialogue: &d}, nil }))(t)
		return got.Duplicate
	}
	for round := range 5 {
		until = Begin.Add(time.Duration(round+1) * time.Hour)
		for id := range 20 {
			if deliver(id) {
				t.Fatalf("round %d: message %d was kept beyond its time", round, id)
			}
		}
		sweepAll(t, e, until.Add(-1), 100)
		for id := range 20 {
			if !deliver(id) {
				t.Errorf("round %d: message %d was forgotten before its time", round, id)
			}
		}
		sweepAll(t, e, until, 100)
	}
}

func sweepMessages(t *testing.T, e Engine) {
	handOn(t, e, 1, "c1")
	receiptOf(t, e, "c1", session.Delivered, Begin.Add(time.Hour))
	put(t, e, session.Writes{Outgoing: []session.Outgoing{Outgoing(2)}})
	count := func() int {
		list := must(e.Sent(ctx, session.Outgoing{}, 99))(t)
		return len(list)
	}
	sweepAll(t, e, Begin.Add(time.Hour+KeepSent-1), 100)
	if count() != 2 {
		t.Errorf("%d messages before the time is over, want both", count())
	}
	sweepAll(t, e, Begin.Add(time.Hour+KeepSent), 100)
	if count() != 1 {
		t.Errorf("%d messages after the time is over, want the waiting one", count())
	}
	receiptOf(t, e, "c1", session.Failed, Begin)
	if got := claim(t, e, Begin.Add(9*KeepSent), 9, time.Minute); len(got) != 1 {
		t.Errorf("the waiting message was not handed out")
	}
}

func sweepSlices(t *testing.T, e Engine) {
	for i := range 25 {
		talk(t, e, i, Begin)
	}
	n, err := e.Sweep(ctx, Begin, 10)
	if err != nil || n != 10 {
		t.Errorf("first slice: %d, %v", n, err)
	}
	left := 0
	for i := range 25 {
		if alive(t, e, i) {
			left++
		}
	}
	if left != 15 {
		t.Errorf("%d dialogues left after a slice of 10 of 25", left)
	}
	sweepAll(t, e, Begin, 10)
	for i := range 25 {
		if alive(t, e, i) {
			t.Errorf("dialogue %d is still there", i)
		}
	}
}

func sweepKeeps(t *testing.T, e Engine) {
	put(t, e, session.Writes{
		People: []session.Person{Person(1)}, Checks: []session.Check{Check(1, PersonID(1), PersonID(1))}, Notes: []session.AuditNote{{Subject: "p"}},
		Reminders: []session.Reminder{reminder("a", 0)}, Invites: []session.Invite{{Code: "A"}},
	})
	sweepAll(t, e, Begin.AddDate(20, 0, 0), 10)
	person(t, e, PersonID(1))
	check(t, e, Slip(1))
	notes, _, err := e.Notes(ctx, 0, 9)
	if err != nil || len(notes) != 1 || len(due(t, e, 0, 9)) != 1 {
		t.Errorf("%d notes, %d reminders, %v", len(notes), len(due(t, e, 0, 9)), err)
	}
}

package storetest

import (
	"testing"
	"time"

	"threshline/session"
)

var sweepCases = []testCase{
	{"expired dialogues go, live ones stay", sweepDialogues},
	{"a dialogue in use is not swept at its old time", sweepInUse},
	{"duplicate keys go when their time is over, and not before", sweepDuplicates},
	{"settled messages go after their time, waiting ones stay", sweepMessages},
	{"a sweep works in slices", sweepSlices},
	{"nothing filed is ever swept", sweepKeeps},
}

// sweepAll sweeps until nothing more waits and returns how often it took.
func sweepAll(t *testing.T, e Engine, now time.Time, slice int) (rounds int) {
	t.Helper()
	for {
		n, err := e.Sweep(ctx, now, slice)
		if err != nil {
			t.Fatal(err)
		}
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
		got, err := e.Exchange(ctx, key, says("hello"))
		if err != nil {
			t.Fatal(err)
		}
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

func sweepMessages(t *testing.T, e Engine) {
	handOn(t, e, 1, "c1")
	receiptOf(t, e, "c1", session.Delivered, Begin.Add(time.Hour))
	put(t, e, session.Writes{Outgoing: []session.Outgoing{Outgoing(2)}})
	count := func() int {
		list, err := e.Sent(ctx, session.Outgoing{}, 99)
		if err != nil {
			t.Fatal(err)
		}
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
		Remindings: []session.Reminding{reminding("a", 0)}, Invites: []session.Invite{{Code: "A"}},
	})
	sweepAll(t, e, Begin.AddDate(20, 0, 0), 10)
	person(t, e, PersonID(1))
	check(t, e, Slip(1))
	notes, _, err := e.Notes(ctx, 0, 9)
	if err != nil || len(notes) != 1 || len(due(t, e, 0, 9)) != 1 {
		t.Errorf("%d notes, %d remindings, %v", len(notes), len(due(t, e, 0, 9)), err)
	}
}

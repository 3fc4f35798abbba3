package storetest

import (
	"sync"
	"testing"
	"time"

	"threshline/session"
)

var conflictCases = []testCase{
	{"a dialogue changed meanwhile has the turn run again", overtaken},
	{"a person written by two phones loses neither's change", samePerson},
	{"a turn sees one snapshot however much is written meanwhile", snapshot},
	{"a record that changes every time ends in a conflict", endless},
	{"a slip that is taken has the turn choose another", slipTaken},
	{"a slip that stays taken ends in an error that says so", slipStaysTaken},
	{"a phone belongs to one person", phoneTaken},
	{"a phone can pass from one person to another in one exchange", phonePasses},
	{"a stale check, invite or foreign dialogue is not overwritten", stale},
	{"a dialogue made anew by its own exchange replaces the old one", madeAnew},
	{"a dialogue removed and begun anew is not taken for the old one", removedAnew},
}

// meanwhile runs other between the turn's reading and its commit, the first
// times only.
func meanwhile(times int, other func(), turn session.Turn) session.Turn {
	return func(v session.View) (session.Writes, error) {
		w, err := turn(v)
		if times > 0 {
			times--
			other()
		}
		return w, err
	}
}

func overtaken(t *testing.T, e Engine) {
	key := session.Key{Phone: Phone(1)}
	other := func() {
		if _, err := e.Exchange(ctx, key, count(Phone(1), "other")); err != nil {
			t.Error(err)
		}
	}
	got, err := e.Exchange(ctx, key, meanwhile(2, other, count(Phone(1), "mine")))
	if err != nil || got.Runs != 3 || got.Reply.Text != "mine" {
		t.Errorf("outcome %+v, %v, want three runs", got, err)
	}
	if d := dialogue(t, e, Phone(1)); d.Page != 3 {
		t.Errorf("page %d, want 3", d.Page)
	}
}

func samePerson(t *testing.T, e Engine) {
	put(t, e, session.Writes{People: []session.Person{Person(1)}})
	const phones, each = 2, 25
	var all sync.WaitGroup
	for i := range phones {
		all.Go(func() {
			for range each {
				for {
					_, err := e.Exchange(ctx, session.Key{Phone: Phone(10 + i)}, func(v session.View) (session.Writes, error) {
						p, err := v.Person(PersonID(1))
						p.Short++
						return session.Writes{People: []session.Person{p}}, err
					})
					if err == nil {
						break
					}
					wantErr(t, "exchange", err, session.ErrConflict)
				}
			}
		})
	}
	all.Wait()
	if p := person(t, e, PersonID(1)); p.Short != phones*each || p.Version != phones*each+1 {
		t.Errorf("counted to %d at version %d, want %d", p.Short, p.Version, phones*each)
	}
}

func snapshot(t *testing.T, e Engine) {
	put(t, e, session.Writes{People: []session.Person{Person(1), Person(2)}})
	got, err := e.Exchange(ctx, session.Key{Phone: Phone(9)}, func(v session.View) (session.Writes, error) {
		one, two := person(t, e, PersonID(1)), person(t, e, PersonID(2))
		one.Name, two.Name = "changed", "changed"
		put(t, e, session.Writes{People: []session.Person{one, two}, Checks: []session.Check{Check(1, PersonID(1), PersonID(1))}})
		for i := 1; i <= 2; i++ {
			if p, err := v.Person(PersonID(i)); err != nil || p.Name != Person(i).Name {
				t.Errorf("the snapshot shows %q, %v", p.Name, err)
			}
		}
		if list, err := v.ChecksOf(PersonID(1), 9); err != nil || len(list) != 0 {
			t.Errorf("the snapshot shows %d checks filed later, %v", len(list), err)
		}
		return session.Writes{Notes: []session.AuditNote{{Did: "looked"}}}, nil
	})
	if err != nil || got.Runs != 1 {
		t.Errorf("%+v, %v: changes to what was not written must not disturb", got, err)
	}
	if p := person(t, e, PersonID(1)); p.Name != "changed" {
		t.Errorf("the change got lost: %q", p.Name)
	}
}

func endless(t *testing.T, e Engine) {
	runs := 0
	other := func() {
		runs++
		if _, err := e.Exchange(ctx, session.Key{Phone: Phone(1)}, count(Phone(1), "other")); err != nil {
			t.Error(err)
		}
	}
	_, err := e.Exchange(ctx, session.Key{Phone: Phone(1)}, meanwhile(1000, other, count(Phone(1), "mine")))
	wantErr(t, "exchange", err, session.ErrConflict)
	if runs < 2 || runs > 100 {
		t.Errorf("the turn ran %d times, want a few", runs)
	}
	if d := dialogue(t, e, Phone(1)); d.Page != runs {
		t.Errorf("page %d, want the %d of the others", d.Page, runs)
	}
}

func slipTaken(t *testing.T, e Engine) {
	put(t, e, session.Writes{Checks: []session.Check{Check(1, "old", "old")}})
	run := 0
	got, err := e.Exchange(ctx, session.Key{}, func(session.View) (session.Writes, error) {
		run++
		return session.Writes{Checks: []session.Check{Check(run, "new", "new")}}, nil
	})
	if err != nil || got.Runs != 2 {
		t.Fatalf("%+v, %v, want two runs", got, err)
	}
	if one, two := check(t, e, Slip(1)), check(t, e, Slip(2)); one.Reporter != "old" || two.Reporter != "new" {
		t.Errorf("reporters %q and %q", one.Reporter, two.Reporter)
	}
}

func slipStaysTaken(t *testing.T, e Engine) {
	w := session.Writes{Checks: []session.Check{Check(1, "old", "old")}}
	put(t, e, w)
	_, err := e.Exchange(ctx, session.Key{}, always(w))
	wantErr(t, "exchange", err, session.ErrConflict)
	wantErr(t, "exchange", err, session.ErrExists)
	put(t, e, session.Writes{Outgoing: []session.Outgoing{Outgoing(1)}})
	_, err = e.Exchange(ctx, session.Key{}, always(session.Writes{Outgoing: []session.Outgoing{Outgoing(1)}}))
	wantErr(t, "message", err, session.ErrExists)
}

func phoneTaken(t *testing.T, e Engine) {
	put(t, e, session.Writes{People: []session.Person{Person(1)}})
	other := Person(2)
	other.Phone = Phone(1)
	_, err := e.Exchange(ctx, session.Key{}, always(session.Writes{People: []session.Person{other}}))
	wantErr(t, "second person with the phone", err, session.ErrExists)
	p := person(t, e, PersonID(1))
	p.Phone, p.Forgotten = "", true
	put(t, e, session.Writes{People: []session.Person{p}})
	wantErr(t, "phone of somebody forgotten", e.Read(ctx, func(v session.View) error {
		_, err := v.PersonByPhone(Phone(1))
		return err
	}), session.ErrNotFound)
	put(t, e, session.Writes{People: []session.Person{other}})
}

func phonePasses(t *testing.T, e Engine) {
	put(t, e, session.Writes{People: []session.Person{Person(1), Person(2)}})
	one, two := person(t, e, PersonID(1)), person(t, e, PersonID(2))
	one.Phone, two.Phone = two.Phone, one.Phone
	put(t, e, session.Writes{People: []session.Person{one, two}})
	read(t, e, func(v session.View) error {
		for phone, want := range map[session.Phone]session.PersonID{Phone(1): PersonID(2), Phone(2): PersonID(1)} {
			if p, err := v.PersonByPhone(phone); err != nil || p.ID != want {
				t.Errorf("phone %v belongs to %q, %v, want %q", phone, p.ID, err, want)
			}
		}
		return nil
	})
}

func stale(t *testing.T, e Engine) {
	d := Dialogue(Phone(1))
	put(t, e, session.Writes{Dialogue: &d, Checks: []session.Check{Check(1, "", "")}, Invites: []session.Invite{{Code: "A"}}})
	old := check(t, e, Slip(1))
	put(t, e, session.Writes{Checks: []session.Check{old}})
	for name, w := range map[string]session.Writes{
		"check":                     {Checks: []session.Check{old}},
		"check that is not there":   {Checks: []session.Check{{Slip: "none", Version: 4}}},
		"invite":                    {Invites: []session.Invite{{Code: "A", Used: true}}},
		"dialogue of another phone": {Dialogue: &d},
	} {
		_, err := e.Exchange(ctx, session.Key{Phone: Phone(7)}, always(w))
		wantErr(t, "stale "+name, err, session.ErrConflict)
	}
}

func madeAnew(t *testing.T, e Engine) {
	var last uint64
	for range 3 {
		d := session.Dialogue{Phone: Phone(1), Screen: "main"}
		must(e.Exchange(ctx, session.Key{Phone: Phone(1)}, always(session.Writes{Dialogue: &d})))(t)
		got := dialogue(t, e, Phone(1))
		sameDialogue(t, d, got)
		if got.Version <= last {
			t.Errorf("version %d after %d", got.Version, last)
		}
		last = got.Version
	}
}

// removedAnew has a dialogue removed and begun anew, as often as it was
// changed before, while a turn works on what it had read.
func removedAnew(t *testing.T, e Engine) {
	talk(t, e, 1, Begin.Add(time.Hour))
	old := dialogue(t, e, Phone(1))
	other := func() {
		put(t, e, session.Writes{Dialogue: &session.Dialogue{Phone: Phone(1), Version: old.Version}})
		if alive(t, e, 1) {
			t.Error("an empty dialogue was stored")
		}
		talk(t, e, 1, Begin.Add(2*time.Hour))
	}
	got, err := e.Exchange(ctx, session.Key{Phone: Phone(1)}, meanwhile(1, other, count(Phone(1), "")))
	if err != nil || got.Runs != 2 {
		t.Errorf("%+v, %v, want two runs", got, err)
	}
	if d := dialogue(t, e, Phone(1)); d.Page != 1 || !d.Expires.Equal(Begin.Add(2*time.Hour)) {
		t.Errorf("page %d until %v: not the one begun anew", d.Page, d.Expires)
	}
}

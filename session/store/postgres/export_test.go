package postgres_test

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/bolt"
	"threshline/session/store/postgres"
	"threshline/session/store/record"
	"threshline/session/store/storetest"
)

// moved is how many checks the test of moving a store takes along.
var moved = flag.Int("moved", 3000, "how many checks a store holds that is moved to PostgreSQL and back")

// A store that has everything in it goes to PostgreSQL and back, and nothing
// of it has changed.
func TestAStoreMovesToPostgresAndBack(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	first, err := bolt.Open(filepath.Join(dir, "first.db"), bolt.Options{KeepSent: storetest.KeepSent})
	if err != nil {
		t.Fatal(err)
	}
	fill(t, first, *moved)
	want := everything(t, first.Export)
	url, options := fresh(t)
	if err := postgres.Import(t.Context(), url, func(yield func(record.Thing) error) error { return first.Export(t.Context(), yield) }, options, false); err != nil {
		t.Fatal(err)
	}
	if err := first.Close(); err != nil {
		t.Fatal(err)
	}
	s := open(t, url, options)
	if err := s.Verify(t.Context()); err != nil {
		t.Errorf("in PostgreSQL: %v", err)
	}
	compareThings(t, "in PostgreSQL", want, everything(t, s.Export))

	back := filepath.Join(dir, "back.db")
	if err := bolt.Import(t.Context(), back, func(yield func(record.Thing) error) error { return s.Export(t.Context(), yield) }, bolt.Options{}, false); err != nil {
		t.Fatal(err)
	}
	last, err := bolt.Open(back, bolt.Options{KeepSent: storetest.KeepSent})
	if err != nil {
		t.Fatal(err)
	}
	defer last.Close()
	compareThings(t, "back in a file", want, everything(t, last.Export))

	// The store goes on where it was: a message is known, a position follows.
	for _, e := range []storetest.Engine{s, last} {
		if out, err := e.Exchange(t.Context(), answered, nil); err != nil || !out.Duplicate || out.Reply.Text != "answered" {
			t.Errorf("a message delivered again: %+v, %v", out, err)
		}
		before, err := e.Newest(t.Context(), 1)
		if err != nil {
			t.Fatal(err)
		}
		put(t, e, session.Writes{Checks: []session.Check{{Slip: "after"}}})
		after, err := e.Newest(t.Context(), 1)
		if err != nil || after[0].Slip != "after" || after[0].Position != before[0].Position+1 {
			t.Errorf("the next check lies at %d after %d, %v", after[0].Position, before[0].Position, err)
		}
	}
}

func TestAStoreThatIsThereOrInUseIsNotReplaced(t *testing.T) {
	t.Parallel()
	url, options := fresh(t)
	s := open(t, url, options)
	put(t, s, session.Writes{People: []session.Person{storetest.Person(1)}})
	nothing := func(func(record.Thing) error) error { return nil }
	if err := postgres.Import(t.Context(), url, nothing, options, true); !errors.Is(err, session.ErrBusy) {
		t.Errorf("a store in use was replaced: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if err := postgres.Import(t.Context(), url, nothing, options, false); !errors.Is(err, session.ErrExists) {
		t.Errorf("a store that is there was replaced: %v", err)
	}
	if err := postgres.Import(t.Context(), url, nothing, options, true); err != nil {
		t.Error(err)
	}
	s = open(t, url, options)
	if people, err := s.People(t.Context(), "", 9); err != nil || len(people) != 0 {
		t.Errorf("%d people are left, %v", len(people), err)
	}
}

var answered = session.Key{Phone: storetest.Phone(1), Duplicate: "valley-ussd 1", KeepUntil: storetest.Begin.Add(time.Hour)}

func put(t *testing.T, e storetest.Engine, w session.Writes) {
	t.Helper()
	if _, err := e.Exchange(context.Background(), session.Key{}, func(session.View) (session.Writes, error) { return w, nil }); err != nil {
		t.Fatal(err)
	}
}

// fill puts a record of every kind into a store, in every state, and n checks.
func fill(t *testing.T, e storetest.Engine, n int) {
	t.Helper()
	d := storetest.Dialogue(answered.Phone)
	if _, err := e.Exchange(t.Context(), answered, func(session.View) (session.Writes, error) {
		return session.Writes{Dialogue: &d, Reply: session.Reply{Text: "answered"}}, nil
	}); err != nil {
		t.Fatal(err)
	}
	head := storetest.Person(7)
	head.Role, head.Phone, head.Agent, head.Short = session.Coordinator, "", storetest.PersonID(3), 9
	named := storetest.Person(8)
	named.Role, named.Named = session.Agent, true
	put(t, e, session.Writes{
		People:    []session.Person{head, named, storetest.Person(1), storetest.Person(2)},
		Invites:   []session.Invite{{Code: "AB", Expires: storetest.Begin}, {Code: "CD"}},
		Accounts:  []session.Account{storetest.Account(1), storetest.Account(2)},
		Notes:     []session.AuditNote{{Who: "a"}, {Who: "b", At: storetest.Begin}},
		Reminders: []session.Reminder{{ID: "r", Due: storetest.Begin, Kind: "tally"}},
		Outgoing:  []session.Outgoing{storetest.Outgoing(1), storetest.Outgoing(2), storetest.Outgoing(3), {ID: "refused", State: session.Refused}},
	})
	claimed, err := e.Claim(t.Context(), storetest.Begin.Add(2*time.Second), 2, time.Hour)
	if err != nil || len(claimed) != 2 {
		t.Fatalf("%d claimed, %v", len(claimed), err)
	}
	claimed[0].State, claimed[0].CarrierID, claimed[0].Changed = session.HandedOn, "c1", storetest.Begin
	if err := errors.Join(e.Settle(t.Context(), claimed[0]),
		e.Receipt(t.Context(), "valley-sms", "c1", session.Delivered, storetest.Begin), e.Receipt(t.Context(), "valley-sms", "early", session.Failed, storetest.Begin)); err != nil {
		t.Fatal(err)
	}
	for from := 0; from < n; from += 500 {
		var w session.Writes
		for i := from; i < min(from+500, n); i++ {
			w.Checks = append(w.Checks, storetest.Check(i, storetest.PersonID(i%90), storetest.PersonID(i%9)))
		}
		put(t, e, w)
	}
	var corrected session.Check
	if err := e.Read(t.Context(), func(v session.View) (err error) { corrected, err = v.Check(storetest.Slip(5)); return err }); err != nil {
		t.Fatal(err)
	}
	corrected.State, corrected.ReplacedBy = session.Corrected, storetest.Slip(6)
	put(t, e, session.Writes{Checks: []session.Check{corrected}})
}

// everything lists all that a store holds, in one order.
func everything(t *testing.T, export func(context.Context, func(record.Thing) error) error) (all []string) {
	t.Helper()
	if err := export(t.Context(), func(thing record.Thing) error {
		all = append(all, said(thing))
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	slices.Sort(all)
	return all
}

// said is a thing as text that is the same for two that are equal.
func said(t record.Thing) string {
	switch {
	case t.Counted != nil:
		return fmt.Sprintf("counted %+v", *t.Counted)
	case t.Dialogue != nil:
		return fmt.Sprintf("dialogue %+v", *t.Dialogue)
	case t.Answer != nil:
		return fmt.Sprintf("answer %+v", *t.Answer)
	case t.Person != nil:
		return fmt.Sprintf("person %#v", *t.Person)
	case t.Check != nil:
		return fmt.Sprintf("check %+v", *t.Check)
	case t.Invite != nil:
		return fmt.Sprintf("invite %+v", *t.Invite)
	case t.Account != nil:
		return fmt.Sprintf("account %+v", *t.Account)
	case t.Note != nil:
		return fmt.Sprintf("note %+v", *t.Note)
	case t.Reminder != nil:
		return fmt.Sprintf("reminder %#v", *t.Reminder)
	case t.Outgoing != nil:
		return fmt.Sprintf("outgoing %#v", *t.Outgoing)
	case t.Carrier != nil:
		return fmt.Sprintf("carrier %+v", *t.Carrier)
	case t.Receipt != nil:
		return fmt.Sprintf("receipt %+v", *t.Receipt)
	}
	return "nothing"
}

func compareThings(t *testing.T, where string, want, got []string) {
	t.Helper()
	kinds := map[string]bool{}
	for _, thing := range want {
		kind, _, _ := strings.Cut(thing, " ")
		kinds[kind] = true
	}
	if len(kinds) != 12 {
		t.Fatalf("the store holds only %d kinds of thing: %v", len(kinds), kinds)
	}
	if slices.Equal(want, got) {
		return
	}
	for i := range min(len(want), len(got)) {
		if want[i] != got[i] {
			t.Fatalf("%s, %d things became %d; the first that differs\n%s\nbecame\n%s", where, len(want), len(got), want[i], got[i])
		}
	}
	t.Fatalf("%s, %d things became %d", where, len(want), len(got))
}

package bolt_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/bolt"
	"threshline/session/store/journal"
)

// kept is a store with a journal, in a folder of its own.
type kept struct{ store, journal string }

func newKept(t *testing.T) kept {
	dir := t.TempDir()
	return kept{filepath.Join(dir, "store.db"), filepath.Join(dir, "journal")}
}

func (k kept) open(t *testing.T) *bolt.Store {
	t.Helper()
	s, err := bolt.Open(k.store, bolt.Options{Journal: k.journal})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// work stores people and checks, changes some of them, and forgets one.
func work(t *testing.T, s *bolt.Store, from, to int) {
	t.Helper()
	for i := from; i < to; i++ {
		file(t, s, i)
		if i%5 == 4 {
			correct(t, s, i-2)
		}
	}
}

func file(t *testing.T, s *bolt.Store, i int) {
	t.Helper()
	id := session.PersonID(fmt.Sprintf("p%03d", i))
	put(t, s, session.Writes{
		People: []session.Person{{ID: id, Phone: session.Phone(fmt.Sprintf("+3363998%04d", i)), Name: fmt.Sprintf("Asha %d", i)}},
		Checks: []session.Check{{Slip: slipOf(i), State: session.Filed, Reporter: id, Lot: session.Lot{Grower: id, Bags: i + 1}, At: time.Unix(int64(1_800_000_000+i), 0).UTC()}},
	})
}

func slipOf(i int) session.Slip { return session.Slip(fmt.Sprintf("S%06d", i)) }

// correct marks a check and gives its person's number to nobody.
func correct(t *testing.T, s *bolt.Store, i int) {
	t.Helper()
	turn := func(v session.View) (w session.Writes, err error) {
		k, err := v.Check(slipOf(i))
		if err != nil {
			return w, err
		}
		k.State = session.Withdrawn
		p, err := v.Person(k.Reporter)
		p.Phone = ""
		return session.Writes{Checks: []session.Check{k}, People: []session.Person{p}}, err
	}
	if _, err := s.Exchange(t.Context(), session.Key{}, turn); err != nil {
		t.Fatal(err)
	}
}

func forget(t *testing.T, s *bolt.Store, i int) {
	t.Helper()
	turn := func(v session.View) (w session.Writes, err error) {
		p, err := v.Person(session.PersonID(fmt.Sprintf("p%03d", i)))
		p.Name, p.Phone, p.Forgotten = "", "", true
		return session.Writes{People: []session.Person{p}}, err
	}
	if _, err := s.Exchange(t.Context(), session.Key{}, turn); err != nil {
		t.Fatal(err)
	}
}

func put(t *testing.T, s *bolt.Store, w session.Writes) {
	t.Helper()
	if _, err := s.Exchange(t.Context(), session.Key{}, func(session.View) (session.Writes, error) { return w, nil }); err != nil {
		t.Fatal(err)
	}
}

// all is every check and person of a store.
type all struct {
	Checks []session.Check
	People []session.Person
}

func everything(t *testing.T, s *bolt.Store) (a all) {
	t.Helper()
	var err error
	if a.Checks, err = s.Filed(t.Context(), 0, 1<<20); err != nil {
		t.Fatal(err)
	}
	if a.People, err = s.People(t.Context(), "", 1<<20); err != nil {
		t.Fatal(err)
	}
	return a
}

// rebuilt is what a store holds that was made from a journal and, maybe, a backup.
func rebuilt(t *testing.T, from string, backup []byte) (a all, found journal.Records) {
	t.Helper()
	f, err := os.Open(from)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	path := filepath.Join(t.TempDir(), "rebuilt.db")
	if backup != nil {
		found, err = bolt.Rebuild(t.Context(), path, bytes.NewReader(backup), f, false)
	} else {
		found, err = bolt.Rebuild(t.Context(), path, nil, f, false)
	}
	if err != nil {
		t.Fatal(err)
	}
	// A rebuilt store serves at once, with the same journal.
	s := kept{path, from}.open(t)
	defer s.Close()
	if err := s.Verify(t.Context()); err != nil {
		t.Fatal(err)
	}
	return everything(t, s), found
}

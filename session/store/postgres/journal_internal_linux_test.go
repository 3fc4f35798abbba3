package postgres

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"threshline/session"
	"threshline/session/store/disk"
	"threshline/session/store/journal"
	"threshline/session/store/postgres/cluster"
	"threshline/session/store/storetest"
)

// kept is what a journal holds: the slips in their order, and the people who are
// not forgotten.
func kept(t testing.TB, path string) (slips []session.Slip, people map[session.PersonID]session.Person) {
	t.Helper()
	people = make(map[session.PersonID]session.Person)
	if err := journal.Find(path, func(kind byte, body []byte) error {
		if kind == journal.CheckRecord {
			k, err := journal.CheckOf(body)
			slips = append(slips, k.Slip)
			return err
		}
		p, err := journal.PersonOf(body)
		people[p.ID] = p
		return err
	}); err != nil {
		t.Fatal(err)
	}
	return slips, people
}

func write(s *Store, key string, w session.Writes) (session.Outcome, error) {
	return s.Exchange(context.Background(), session.Key{Duplicate: key, KeepUntil: storetest.Begin}, func(session.View) (session.Writes, error) { return w, nil })
}

// Two gateways file at once. Each journal holds what its gateway has answered,
// and, soon after, all that both did, in one order.
func TestEachGatewaysJournalHoldsWhatItAnsweredAndFollowsTheOther(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t, "fsync=off")
	dir := t.TempDir()
	var stores []*Store
	var paths []string
	for i := range 2 {
		paths = append(paths, filepath.Join(dir, fmt.Sprint("journal", i)))
		stores = append(stores, at(t, server.URL("postgres"), Options{CallersClock: true, Journal: paths[i], Holder: fmt.Sprint(i)}))
	}
	const each = 40
	var all sync.WaitGroup
	for i := range 2 * each {
		s, path := stores[i%2], paths[i%2]
		all.Go(func() {
			p := storetest.Person(i)
			if _, err := write(s, "", session.Writes{Checks: []session.Check{storetest.Check(i, "g", "r")}, People: []session.Person{p}}); err != nil {
				t.Error(err)
				return
			}
			slips, people := kept(t, path)
			if !slices.Contains(slips, storetest.Slip(i)) || people[p.ID].Name != p.Name {
				t.Errorf("check or person %d was answered, and is not in the journal", i)
			}
		})
	}
	all.Wait()
	for i, path := range paths {
		eventually(t, "a journal holds what the other gateway did", func() bool {
			slips, people := kept(t, path)
			return len(slips) == 2*each && len(people) == 2*each
		})
		filed, err := stores[i].Filed(t.Context(), 0, 1000)
		if err != nil {
			t.Fatal(err)
		}
		slips, _ := kept(t, path)
		for j := range filed {
			if filed[j].Slip != slips[j] {
				t.Fatalf("journal %d: %q stands where %q was filed", i, slips[j], filed[j].Slip)
			}
		}
	}

	// Who is forgotten at one gateway is erased from both journals.
	gone := storetest.Person(3)
	gone.Version, gone.Phone, gone.Name, gone.Forgotten = 1, "", "", true
	trace := session.Trace{Phone: storetest.Person(3).Phone, Person: gone.ID, Name: storetest.Person(3).Name}
	if _, err := write(stores[0], "", session.Writes{People: []session.Person{gone}, Forget: []session.Trace{trace}}); err != nil {
		t.Fatal(err)
	}
	number := []byte(storetest.Person(3).Phone)
	for i, path := range paths {
		holds := func() bool {
			b, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			return bytes.Contains(b, number)
		}
		if i == 0 && holds() {
			t.Error("the person was told to be forgotten, and is in the journal")
		}
		eventually(t, "the person is forgotten in the journal", func() bool { return !holds() })
	}
}

// While the journal's disk is full nothing is answered that it does not hold,
// not even a message that comes again and is stored by then.
func TestAFullJournalIsToldAndGoesOn(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t, "fsync=off")
	s := at(t, server.URL("postgres"), Options{CallersClock: true, Journal: filepath.Join(t.TempDir(), "journal")})
	file := func(i int) (session.Outcome, error) {
		return write(s, fmt.Sprint("m", i), session.Writes{Checks: []session.Check{storetest.Check(i, "g", "r")}, Reply: session.Reply{Text: "filed"}})
	}
	if _, err := file(0); err != nil {
		t.Fatal(err)
	}
	full, err := os.OpenFile("/dev/full", os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer full.Close()
	disks := func(to *os.File) (was *os.File) {
		s.journal.mu.Lock()
		defer s.journal.mu.Unlock()
		was, s.journal.file.File = s.journal.file.File, to
		return was
	}
	good := disks(full)
	for _, i := range []int{1, 1, 2, 0} {
		if out, err := file(i); !is(err, session.ErrFull) {
			t.Fatalf("check %d was answered %+v, %v", i, out, err)
		}
	}
	if _, err := talk(s, "no check"); err != nil {
		t.Errorf("what a journal does not hold waits for it: %v", err)
	}
	if err := s.Healthy(); !is(err, session.ErrFull) {
		t.Errorf("a full journal is called %v", err)
	}
	disks(good)
	eventually(t, "the store says that it is well", func() bool { return s.Healthy() == nil })
	if out, err := file(1); err != nil || !out.Duplicate || out.Reply.Text != "filed" {
		t.Errorf("with room again: %+v, %v", out, err)
	}
	if slips, _ := kept(t, s.journal.found.Path); len(slips) != 3 {
		t.Errorf("the journal holds %v", slips)
	}
}

// What a gateway did not write into its journal before it was killed is there
// after its next start; so is what others did meanwhile.
func TestAStartBringsTheJournalUpToTheDatabase(t *testing.T) {
	t.Parallel()
	s, server := alone(t)
	path := filepath.Join(t.TempDir(), "journal")
	options := Options{CallersClock: true, Journal: path}
	first := at(t, server.URL("postgres"), options)
	if _, err := Open(t.Context(), server.URL("postgres"), options); !is(err, disk.ErrLocked) {
		t.Errorf("two gateways write one journal: %v", err)
	}
	if err := first.Close(); err != nil {
		t.Fatal(err)
	}
	for i := range 3 {
		if _, err := write(s, "", session.Writes{Checks: []session.Check{storetest.Check(i, "g", "r")}, People: []session.Person{storetest.Person(i)}}); err != nil {
			t.Fatal(err)
		}
	}
	again := at(t, server.URL("postgres"), options)
	if state := again.Journal(); state.Added != 6 {
		t.Errorf("added %+v", state)
	}
	if slips, people := kept(t, path); len(slips) != 3 || len(people) != 3 {
		t.Errorf("the journal holds %v, %v", slips, people)
	}
	again.Close()

	// A database that lost what was answered is not gone on with.
	server.Run(t, "postgres", "delete from threshline.checks where position = (select max(position) from threshline.checks)")
	if _, err := Open(t.Context(), server.URL("postgres"), options); !is(err, journal.ErrAhead) {
		t.Errorf("a database that lost a check: %v", err)
	}
	server.Run(t, "postgres", "update threshline.about set journal = null")
	if _, err := Open(t.Context(), server.URL("postgres"), options); !is(err, ErrJournal) {
		t.Errorf("another database: %v", err)
	}
}

package bolt

import (
	"context"
	"errors"
	"path/filepath"
	"sync"
	"testing"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/storetest"
)

func openTest(t *testing.T, o Options) *Store {
	t.Helper()
	s, err := Open(filepath.Join(t.TempDir(), "store.db"), o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

// scripted is a work that does what the test says.
type scripted struct {
	checks, writes func(*bbolt.Tx) error
	checked, wrote int
}

func (w *scripted) check(tx *bbolt.Tx) error {
	w.checked++
	if w.checks == nil {
		return nil
	}
	return w.checks(tx)
}

func (w *scripted) write(tx *bbolt.Tx) error {
	w.wrote++
	return w.writes(tx)
}

func putNote(key string) func(*bbolt.Tx) error {
	return func(tx *bbolt.Tx) error {
		p := &putter{tx: tx}
		p.put(noteBucket, []byte(key), nil)
		return p.err
	}
}

// commitTogether runs works as one group and returns what each was told.
func commitTogether(s *Store, works ...work) []error {
	group := make([]*job, len(works))
	for i, w := range works {
		group[i] = &job{ctx: context.Background(), work: w, done: make(chan error, 1)}
	}
	jobs := append([]*job(nil), group...)
	s.commit(group)
	told := make([]error, len(works))
	for i, j := range jobs {
		told[i] = <-j.done
	}
	return told
}

func noteKeys(t *testing.T, s *Store) (keys []string) {
	t.Helper()
	err := s.snapshot(func(tx *bbolt.Tx) error {
		return in(tx, noteBucket).ForEach(func(k, _ []byte) error { keys = append(keys, string(k)); return nil })
	})
	if err != nil {
		t.Fatal(err)
	}
	return keys
}

// TestGroupIsolatesFailures puts works that are refused, that break while
// writing and that were cancelled into one group with works that are well.
func TestGroupIsolatesFailures(t *testing.T) {
	s := openTest(t, Options{})
	refused, broken := errors.New("refused"), errors.New("broken")
	no := &scripted{checks: func(*bbolt.Tx) error { return refused }}
	bad := &scripted{writes: func(tx *bbolt.Tx) error {
		if err := putNote("half")(tx); err != nil {
			return err
		}
		return broken
	}}
	first, last := &scripted{writes: putNote("first")}, &scripted{writes: putNote("last")}
	told := commitTogether(s, first, no, bad, last)
	if told[0] != nil || !errors.Is(told[1], refused) || !errors.Is(told[2], broken) || told[3] != nil {
		t.Errorf("told %v", told)
	}
	if keys := noteKeys(t, s); len(keys) != 2 || keys[0] != "first" || keys[1] != "last" {
		t.Errorf("stored %q, want first and last", keys)
	}
	if no.wrote != 0 {
		t.Error("a refused work was written")
	}
	if err := s.Healthy(); err != nil {
		t.Errorf("unwell after faults of single works: %v", err)
	}
}

// TestPanicHaltsTheStore has a work panic, as the library does when it meets a
// page that makes no sense: the group fails, and nothing is written any more.
func TestPanicHaltsTheStore(t *testing.T) {
	s := openTest(t, Options{})
	told := commitTogether(s, &scripted{writes: putNote("a")}, &scripted{writes: func(*bbolt.Tx) error { panic("page 7: invalid page type") }})
	for _, err := range told {
		if !errors.Is(err, ErrHalted) {
			t.Errorf("told %v, want %v", err, ErrHalted)
		}
	}
	if err := s.Healthy(); !errors.Is(err, ErrHalted) {
		t.Errorf("healthy says %v", err)
	}
	d := storetest.Dialogue(storetest.Phone(1))
	_, err := s.Exchange(context.Background(), session.Key{}, func(session.View) (session.Writes, error) { return session.Writes{Dialogue: &d}, nil })
	if !errors.Is(err, ErrHalted) {
		t.Errorf("an exchange afterwards: %v", err)
	}
	if keys := noteKeys(t, s); len(keys) != 0 {
		t.Errorf("stored %q", keys)
	}
	if err := s.Close(); err != nil {
		t.Errorf("close: %v", err)
	}
}

// TestQueueIsBounded holds the committer still and fills its queue.
func TestQueueIsBounded(t *testing.T) {
	const waiting = 3
	s := openTest(t, Options{Waiting: waiting})
	begun, held := make(chan struct{}), make(chan struct{})
	var all sync.WaitGroup
	submit := func(w work) {
		all.Go(func() {
			if err := s.submit(context.Background(), w); err != nil {
				t.Errorf("submit: %v", err)
			}
		})
	}
	submit(&scripted{checks: func(*bbolt.Tx) error { close(begun); <-held; return nil }, writes: putNote("first")})
	<-begun
	queued := make([]*job, waiting)
	for i := range queued {
		queued[i] = &job{ctx: context.Background(), work: &scripted{writes: putNote("more")}, done: make(chan error, 1)}
		if err := s.enqueue(queued[i]); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.submit(context.Background(), &scripted{writes: putNote("too much")}); !errors.Is(err, session.ErrBusy) {
		t.Errorf("beyond the bound: %v, want %v", err, session.ErrBusy)
	}
	close(held)
	all.Wait()
	for _, j := range queued {
		if err := <-j.done; err != nil {
			t.Errorf("queued: %v", err)
		}
	}
	if err := s.submit(context.Background(), &scripted{writes: putNote("again")}); err != nil {
		t.Errorf("when there is room again: %v", err)
	}
}

// TestCancelledInTheQueue takes back a work whose caller went away before the
// committer came to it.
func TestCancelledInTheQueue(t *testing.T) {
	s := openTest(t, Options{})
	gone, leave := context.WithCancel(context.Background())
	leave()
	w := &scripted{writes: putNote("gone")}
	j := &job{ctx: gone, work: w, done: make(chan error, 1)}
	s.commit([]*job{j})
	if err := <-j.done; !errors.Is(err, context.Canceled) || w.checked != 0 {
		t.Errorf("told %v, checked %d times", err, w.checked)
	}
}

// TestFullAndRoomAgain fills a store to its bound, then gives it room.
func TestFullAndRoomAgain(t *testing.T) {
	s := openTest(t, Options{Map: 1 << 15, MaxSize: 1 << 18})
	stored := 0
	put := func() error {
		_, err := s.Exchange(context.Background(), session.Key{}, func(session.View) (session.Writes, error) {
			return session.Writes{Checks: []session.Check{storetest.Check(stored, "p", "p")}}, nil
		})
		return err
	}
	var err error
	for err == nil {
		if err = put(); err == nil {
			stored++
		}
		if stored > 10_000 {
			t.Fatal("never full")
		}
	}
	var f *Fault
	if !errors.Is(err, session.ErrFull) || !errors.As(err, &f) || f.Hint() == "" {
		t.Fatalf("when full: %v, want a fault that is %v", err, session.ErrFull)
	}
	if err := s.Healthy(); !errors.Is(err, session.ErrFull) {
		t.Errorf("healthy says %v", err)
	}
	if err := put(); !errors.Is(err, session.ErrFull) {
		t.Errorf("still full: %v", err)
	}
	if list, err := s.Filed(context.Background(), 0, stored+1); err != nil || len(list) != stored {
		t.Errorf("%d checks, %v, want the %d that were acknowledged", len(list), err, stored)
	}
	s.db.MaxSize = 1 << 24
	for range 300 {
		if err := put(); err != nil {
			t.Fatalf("with room again: %v", err)
		}
		stored++
	}
	if err := s.Healthy(); err != nil {
		t.Errorf("healthy says %v", err)
	}
	if err := s.Verify(context.Background()); err != nil {
		t.Error(err)
	}
}

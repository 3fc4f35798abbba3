package bolt_test

import (
	"context"
	"errors"
	"path/filepath"
	"sync"
	"testing"

	"threshline/session"
	"threshline/session/store/bolt"
	"threshline/session/store/storetest"
)

// TestWhatIsLetGoIsThereAsBefore lets go of the mapped file while checks are
// written and read.
func TestWhatIsLetGoIsThereAsBefore(t *testing.T) {
	s, err := bolt.Open(filepath.Join(t.TempDir(), "store.db"), bolt.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	const n = 2000
	var work sync.WaitGroup
	work.Go(func() {
		for i := range n / 20 {
			var w session.Writes
			for j := i * 20; j < i*20+20; j++ {
				w.Checks = append(w.Checks, storetest.Check(j, storetest.PersonID(j%50), storetest.PersonID(j%7)))
			}
			if _, err := s.Exchange(t.Context(), session.Key{}, func(session.View) (session.Writes, error) { return w, nil }); err != nil {
				t.Error(err)
			}
		}
	})
	for range 200 {
		if err := s.LetGo(t.Context()); err != nil {
			t.Fatal(err)
		}
		if _, err := s.Filed(t.Context(), 0, 100); err != nil {
			t.Fatal(err)
		}
	}
	work.Wait()
	if err := s.LetGo(t.Context()); err != nil {
		t.Fatal(err)
	}
	list, err := s.Filed(t.Context(), 0, n+1)
	if err != nil || len(list) != n {
		t.Fatalf("%d checks, %v; want %d", len(list), err, n)
	}
	for i, c := range list {
		if want := storetest.Check(i, "", "").Slip; c.Slip != want {
			t.Fatalf("place %d: %s, want %s", i, c.Slip, want)
		}
	}
	ended, end := context.WithCancel(t.Context())
	end()
	if err := s.LetGo(ended); !errors.Is(err, context.Canceled) {
		t.Errorf("after the end: %v", err)
	}
}

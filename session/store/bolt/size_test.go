package bolt_test

import (
	"fmt"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/bolt"
	"threshline/session/store/storetest"
)

// mostOfACheck is how many bytes a check by dialogue may take once its answers
// are over, its person and the dialogue behind it counted.
const mostOfACheck = 1500

// Of a check by dialogue the answers are dropped when they are over, though the
// dialogue lives on.
func TestACheckIsSmallOnceItsAnswersAreOver(t *testing.T) {
	const checks, messages = 120, 13
	s := open(t, filepath.Join(t.TempDir(), "store.db"))
	size := func() int {
		whole, small := filepath.Join(t.TempDir(), "whole.db"), filepath.Join(t.TempDir(), "small.db")
		if err := s.BackupFile(t.Context(), whole); err != nil {
			t.Fatal(err)
		}
		if err := bolt.Compact(whole, small, nil); err != nil {
			t.Fatal(err)
		}
		return len(contents(t, small))
	}
	empty, over := size(), storetest.Begin.Add(5*time.Minute)
	var talking sync.WaitGroup
	for i := range checks {
		talking.Go(func() {
			for j := range messages {
				if err := talkOn(t, s, i, j, j == messages-1, over); err != nil {
					t.Error(err)
				}
			}
		})
	}
	talking.Wait()
	before := (size() - empty) / checks
	for swept := 1; swept > 0; {
		var err error
		if swept, err = s.Sweep(t.Context(), over, 1000); err != nil {
			t.Fatal(err)
		}
	}
	after := (size() - empty) / checks
	t.Logf("%d bytes a check at once, %d when the answers are over", before, after)
	if after > mostOfACheck || before < 2*after {
		t.Errorf("want at most %d, and clearly more before", mostOfACheck)
	}
	if err := s.Verify(t.Context()); err != nil {
		t.Error(err)
	}
}

// talkOn is the j-th message of a phone's check, the last of which files it.
func talkOn(t *testing.T, s *bolt.Store, i, j int, last bool, over time.Time) error {
	phone := storetest.Phone(i)
	key := session.Key{Phone: phone, Duplicate: fmt.Sprintf("valley-ussd|%s|%d|s", string(phone), j), KeepUntil: over}
	_, err := s.Exchange(t.Context(), key, func(v session.View) (w session.Writes, err error) {
		before, err := v.Dialogue(phone)
		d := storetest.Dialogue(phone)
		d.Version, d.Expires = before.Version, storetest.Begin.Add(96*time.Hour)
		if j == 0 {
			w.People = []session.Person{storetest.Person(i)}
		}
		if last {
			d.Drafts, d.Current = nil, -1
			w.Checks = []session.Check{storetest.Check(i, storetest.PersonID(i), storetest.PersonID(i))}
		}
		w.Dialogue, w.Reply = &d, session.Reply{Text: fmt.Sprintf("%0150d", j), More: true}
		return w, err
	})
	return err
}

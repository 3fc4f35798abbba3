package bolt_test

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/bolt"
	"threshline/session/store/storetest"
)

// holds checks that the store at path has exactly n checks and passes its own
// check.
func holds(t *testing.T, path string, n int) {
	t.Helper()
	s := open(t, path)
	defer s.Close()
	list, err := s.Filed(context.Background(), 0, n+1)
	if err != nil || len(list) != n {
		t.Errorf("%d checks, %v, want %d", len(list), err, n)
	}
	if err := s.Verify(context.Background()); err != nil {
		t.Errorf("verify: %v", err)
	}
}

// Commits are dated to the minute: no later one than the date was made after what a
// start goes by.
func TestNoCommitIsLaterThanTheLast(t *testing.T) {
	path := filepath.Join(t.TempDir(), "store.db")
	s := open(t, path)
	now := time.Date(2026, 11, 2, 8, 0, 0, 0, time.UTC)
	s.Stamp(func() time.Time { return now })
	for range 7 {
		if _, err := s.Exchange(t.Context(), session.Key{}, func(session.View) (session.Writes, error) {
			return session.Writes{Notes: []session.AuditNote{{Did: "wrote"}}}, nil
		}); err != nil {
			t.Fatal(err)
		}
		if last := s.LastCommit(); now.After(last) || last.Sub(now) > time.Minute {
			t.Errorf("a commit of %v, and the last is said to be of %v", now, last)
		}
		now = now.Add(25 * time.Second)
	}
}

func TestCompactKeepsEverythingInLessRoom(t *testing.T) {
	path := filled(t, 3000)
	s := open(t, path)
	for i := range 2900 { // corrections leave holes
		var k session.Check
		if err := s.Read(context.Background(), func(v session.View) (err error) { k, err = v.Check(storetest.Slip(i)); return err }); err != nil {
			t.Fatal(err)
		}
		if i%100 == 0 {
			k.State = session.Corrected
			if _, err := s.Exchange(context.Background(), session.Key{}, func(session.View) (session.Writes, error) {
				return session.Writes{Checks: []session.Check{k}}, nil
			}); err != nil {
				t.Fatal(err)
			}
		}
	}
	before, _ := s.Filed(context.Background(), 0, 9999)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	small := filepath.Join(t.TempDir(), "small.db")
	done, of := 0, 0
	if err := bolt.Compact(path, small, func(d, o int) { done, of = d, o }); err != nil {
		t.Fatal(err)
	}
	if done != of || done < 3000 {
		t.Errorf("progress ended at %d of %d", done, of)
	}
	if a, b := len(contents(t, path)), len(contents(t, small)); b >= a {
		t.Errorf("the copy has %d bytes, the original %d", b, a)
	}
	holds(t, small, 3000)
	s = open(t, small)
	after, _ := s.Filed(context.Background(), 0, 9999)
	if last, was := after[len(after)-1].Position, before[len(before)-1].Position; last != was {
		t.Errorf("last position %d, was %d", last, was)
	}
	if _, err := s.Exchange(context.Background(), session.Key{}, func(session.View) (session.Writes, error) {
		return session.Writes{Checks: []session.Check{storetest.Check(9000, "", "")}}, nil
	}); err != nil {
		t.Fatal(err)
	}
	if next, _ := s.Filed(context.Background(), before[len(before)-1].Position, 9); len(next) != 1 {
		t.Errorf("%d checks after the last position, want the new one: positions must go on", len(next))
	}
}

func TestBackupWhileServing(t *testing.T) {
	path := filled(t, 500)
	s := open(t, path)
	stop := make(chan struct{})
	var all sync.WaitGroup
	var stored int
	all.Go(func() {
		for i := 500; ; i++ {
			select {
			case <-stop:
				return
			default:
			}
			_, err := s.Exchange(context.Background(), session.Key{}, func(session.View) (session.Writes, error) {
				return session.Writes{Checks: []session.Check{storetest.Check(i, "p", "p")}}, nil
			})
			if err != nil {
				t.Errorf("while backing up: %v", err)
				return
			}
			stored++
		}
	})
	copyPath := filepath.Join(t.TempDir(), "copy.db")
	for range 3 {
		if err := s.BackupFile(context.Background(), copyPath); err != nil {
			t.Fatal(err)
		}
	}
	close(stop)
	all.Wait()
	if err := bolt.VerifyFile(context.Background(), copyPath); err != nil {
		t.Error(err)
	}
	s2 := open(t, copyPath)
	list, err := s2.Filed(context.Background(), 0, 1<<20)
	if err != nil || len(list) < 500 || len(list) > 500+stored {
		t.Errorf("the copy has %d checks, %v", len(list), err)
	}
}

func TestRestore(t *testing.T) {
	s := open(t, filled(t, 100))
	var backup bytes.Buffer
	if err := s.Backup(context.Background(), &backup); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "restored.db")
	restore := func(b []byte, overwrite bool) error {
		return bolt.Restore(context.Background(), path, bytes.NewReader(b), overwrite)
	}
	if err := restore(backup.Bytes()[:backup.Len()-5000], false); err == nil {
		t.Error("a backup that is cut short was restored")
	}
	if err := restore([]byte("not a backup, but long enough to be looked at"), false); err == nil {
		t.Error("something else was restored")
	}
	if _, err := os.Stat(path); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a failed restore left a file: %v", err)
	}
	if err := restore(backup.Bytes(), false); err != nil {
		t.Fatal(err)
	}
	holds(t, path, 100)
	if err := restore(backup.Bytes(), false); !errors.Is(err, os.ErrExist) {
		t.Errorf("over a file that is there: %v, want %v", err, os.ErrExist)
	}
	if err := restore(backup.Bytes(), true); err != nil {
		t.Error(err)
	}
	holds(t, path, 100)
}

// failing is a writer that breaks off, or a context that ends, in the middle.
type failing struct{ after int }

func (f *failing) Write(b []byte) (int, error) {
	if f.after -= len(b); f.after < 0 {
		return 0, errors.New("the other disk is full")
	}
	return len(b), nil
}

func TestBackupThatFails(t *testing.T) {
	s := open(t, filled(t, 500))
	if err := s.Backup(context.Background(), &failing{after: 10_000}); err == nil {
		t.Error("a backup whose writer failed was called done")
	}
	ended, end := context.WithCancel(context.Background())
	end()
	path := filepath.Join(t.TempDir(), "none", "copy.db")
	if err := s.BackupFile(ended, path); err == nil {
		t.Error("a cancelled backup was called done")
	}
	if err := s.Verify(context.Background()); err != nil {
		t.Error(err)
	}
}

func TestBareAndSize(t *testing.T) {
	path := filepath.Join(t.TempDir(), "store.db")
	s := open(t, path) // verifies the file when it is closed
	before, _ := s.Size()
	for i := range 200 {
		if err := s.Bare(context.Background(), []byte{byte(i)}, make([]byte, 4000)); err != nil {
			t.Fatal(err)
		}
	}
	after, free := s.Size()
	if before <= 0 || after < before+200*4000 || free < 0 || free > after {
		t.Errorf("%d bytes, then %d of which %d are free", before, after, free)
	}
	if info, err := os.Stat(path); err != nil || info.Size() < after {
		t.Errorf("the file has %d bytes, %v, want at least %d", info.Size(), err, after)
	}
}

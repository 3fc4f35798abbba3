package bolt_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/bolt"
	"threshline/session/store/storetest"
)

// wantFault opens path and expects a fault of the kind, with a hint.
func wantFault(t *testing.T, path string, kind error) {
	t.Helper()
	s, err := bolt.Open(path, bolt.Options{LockWait: time.Millisecond})
	if err == nil {
		s.Close()
		t.Fatalf("opened, want an error that is %v", kind)
	}
	var fault *bolt.Fault
	if !errors.Is(err, kind) || !errors.As(err, &fault) {
		t.Fatalf("error %q, want a fault that is %v", err, kind)
	}
	if fault.Hint() == "" || fault.Path != path {
		t.Errorf("fault of %q with the hint %q", fault.Path, fault.Hint())
	}
}

// filled makes a store with enough in it to have branch pages, closes it and
// returns its path.
func filled(t *testing.T, checks int) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "store.db")
	s, err := bolt.Open(path, bolt.Options{Map: 1 << 15}) // a small file: room is added as needed
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < checks; i += 500 {
		var w session.Writes
		for j := i; j < min(i+500, checks); j++ {
			w.Checks = append(w.Checks, storetest.Check(j, storetest.PersonID(j%50), storetest.PersonID(j%7)))
		}
		d := storetest.Dialogue(storetest.Phone(i % 10000))
		w.Dialogue = &d
		if _, err := s.Exchange(context.Background(), session.Key{}, func(session.View) (session.Writes, error) { return w, nil }); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestOpenTellsWhatIsWrong(t *testing.T) {
	t.Run("in use by another", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "store.db")
		open(t, path)
		wantFault(t, path, bolt.ErrLocked)
	})
	t.Run("a text file", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "store.db")
		write(t, path, bytes.Repeat([]byte("not a store\n"), 2000))
		wantFault(t, path, bolt.ErrForeign)
	})
	t.Run("a few bytes", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "store.db")
		write(t, path, []byte("x"))
		wantFault(t, path, bolt.ErrForeign)
	})
	t.Run("another program's database", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "store.db")
		edit(t, path, func(tx *bbolt.Tx) error { _, err := tx.CreateBucket([]byte("theirs")); return err })
		wantFault(t, path, bolt.ErrForeign)
	})
	t.Run("a newer schema", func(t *testing.T) {
		path := filled(t, 1)
		edit(t, path, func(tx *bbolt.Tx) error {
			return tx.Bucket([]byte("about")).Put([]byte("schema"), binary.BigEndian.AppendUint64(nil, bolt.Schema+1))
		})
		wantFault(t, path, bolt.ErrNewer)
		if err := bolt.VerifyFile(t.Context(), path); !errors.Is(err, bolt.ErrNewer) {
			t.Errorf("verified: %v, want %v", err, bolt.ErrNewer)
		}
	})
	t.Run("no directory", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "none", "store.db")
		if _, err := bolt.Open(path, bolt.Options{}); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("error %v, want one that says the directory is missing", err)
		}
	})
	t.Run("an empty file is what is left of a store", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "store.db")
		write(t, path, nil)
		wantFault(t, path, bolt.ErrDamaged)
		if left := contents(t, path); len(left) != 0 {
			t.Errorf("%d bytes were written to it", len(left))
		}
	})
	t.Run("a part left by a power cut is in nobody's way", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "store.db")
		write(t, path+".part", []byte("half a file"))
		open(t, path)
	})
}

// TestOpenCutShort opens a store whose file lost its tail, at many lengths.
// Whatever is left either opens whole or is called damaged or no store: never
// a crash, never a store with something missing.
func TestOpenCutShort(t *testing.T) {
	const checks = 300
	path := filled(t, checks)
	whole := contents(t, path)
	for i := range 40 {
		size := len(whole) * i / 40
		cut := filepath.Join(t.TempDir(), "cut.db")
		write(t, cut, whole[:size])
		opensWholeOrFails(t, cut, checks)
	}
	write(t, path, append(whole, make([]byte, 8192)...))
	opensWholeOrFails(t, path, checks)
}

// TestOpenOverwritten opens stores in which one page was overwritten.
func TestOpenOverwritten(t *testing.T) {
	const checks = 300
	path := filled(t, checks)
	whole := contents(t, path)
	page := os.Getpagesize()
	for _, fill := range []byte{0x00, 0x5a} {
		for at := 2 * page; at < len(whole); at += page {
			broken := bytes.Clone(whole)
			for i := at; i < min(at+page, len(broken)); i++ {
				broken[i] = fill
			}
			damagedPath := filepath.Join(t.TempDir(), "broken.db")
			write(t, damagedPath, broken)
			opensWholeOrFails(t, damagedPath, checks)
		}
	}
}

// TestInspectOverwritten opens stores too large to be read whole first, in
// which one page was overwritten. Whatever is not found when they are opened is
// found by inspecting them: then nothing more is written, and what cannot be
// read is an error.
func TestInspectOverwritten(t *testing.T) {
	const checks = 300
	whole := contents(t, filled(t, checks))
	page := os.Getpagesize()
	refused, found, sound := 0, 0, 0
	for _, fill := range []byte{0x00, 0x5a} {
		for at := 2 * page; at < len(whole); at += page {
			broken := bytes.Clone(whole)
			for i := at; i < min(at+page, len(broken)); i++ {
				broken[i] = fill
			}
			path := filepath.Join(t.TempDir(), "broken.db")
			write(t, path, broken)
			s, err := bolt.Open(path, bolt.Options{Inspect: 1})
			if err != nil {
				refused++
				isFault(t, err, path)
				continue
			}
			if err := s.Inspect(context.Background(), nil); err != nil {
				found++
				isFault(t, err, path)
				staysDamaged(t, s)
			} else if list, err := s.Filed(context.Background(), 0, checks+1); err != nil || len(list) != checks {
				t.Errorf("page %d, called sound: %d checks, %v, want %d", at/page, len(list), err, checks)
			} else {
				sound++
			}
			if err := s.Close(); err != nil {
				t.Errorf("page %d: close: %v", at/page, err)
			}
		}
	}
	if refused == 0 || found == 0 || sound == 0 {
		t.Errorf("refused %d, found %d, sound %d: want some of each", refused, found, sound)
	}
}

// TestCutShortAndLarge cuts off the end of a store that is not read whole. What
// lies behind its last page is room for more, and may go.
func TestCutShortAndLarge(t *testing.T) {
	path := filled(t, 300)
	whole := contents(t, path)
	refused := 0
	for i := 1; i < 40; i++ {
		write(t, path, whole[:len(whole)*i/40])
		s, err := bolt.Open(path, bolt.Options{Inspect: 1})
		if err != nil {
			refused++
			isFault(t, err, path)
			continue
		}
		if err := errors.Join(s.Inspect(context.Background(), nil), s.Close()); err != nil {
			t.Errorf("opened with %d of %d bytes, then %v", len(whole)*i/40, len(whole), err)
		}
		holds(t, path, 300)
	}
	if refused < 20 {
		t.Errorf("%d of 39 were refused", refused)
	}
}

func isFault(t *testing.T, err error, path string) {
	t.Helper()
	var fault *bolt.Fault
	if !errors.As(err, &fault) || fault.Hint() == "" || fault.Path != path {
		t.Errorf("error %v, want a fault of %q with a hint", err, path)
	}
}

func staysDamaged(t *testing.T, s *bolt.Store) {
	t.Helper()
	if err := s.Healthy(); !errors.Is(err, bolt.ErrDamaged) {
		t.Errorf("healthy says %v, want %v", err, bolt.ErrDamaged)
	}
	_, err := s.Exchange(context.Background(), session.Key{}, func(session.View) (session.Writes, error) {
		return session.Writes{Notes: []session.AuditNote{{Subject: "late"}}}, nil
	})
	if !errors.Is(err, bolt.ErrDamaged) {
		t.Errorf("a write to a damaged store: %v, want %v", err, bolt.ErrDamaged)
	}
}

// TestPanicsOfTurns has a turn panic: that is no fault of the file.
func TestPanicsOfTurns(t *testing.T) {
	s := open(t, filepath.Join(t.TempDir(), "store.db"))
	func() {
		defer func() {
			if r := recover(); r != "a turn's own" {
				t.Errorf("recovered %v", r)
			}
		}()
		_, err := s.Exchange(context.Background(), session.Key{Phone: storetest.Phone(1)}, func(session.View) (session.Writes, error) { panic("a turn's own") })
		t.Errorf("the turn's panic became %v", err)
	}()
	if err := s.Healthy(); err != nil {
		t.Error(err)
	}
}

// opensWholeOrFails opens a doubtful file: either it is refused with a fault,
// or every check is there.
func opensWholeOrFails(t *testing.T, path string, checks int) {
	t.Helper()
	s, err := bolt.Open(path, bolt.Options{})
	if err != nil {
		var fault *bolt.Fault
		if !errors.As(err, &fault) || fault.Hint() == "" {
			t.Errorf("error %v, want a fault with a hint", err)
		}
		return
	}
	defer s.Close()
	list, err := s.Filed(context.Background(), 0, checks+1)
	if err != nil || len(list) != checks {
		t.Errorf("opened with %d checks, %v, want %d", len(list), err, checks)
	}
}

func write(t *testing.T, path string, b []byte) {
	t.Helper()
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
}

func contents(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// edit changes a file behind the store's back.
func edit(t *testing.T, path string, fn func(*bbolt.Tx) error) {
	t.Helper()
	db, err := bbolt.Open(path, 0o600, &bbolt.Options{Timeout: time.Second})
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Update(fn); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

// TestPagesThatCannotBeRead takes pages away from under an open store, as a
// dying disk does.
func TestPagesThatCannotBeRead(t *testing.T) {
	path := filled(t, 300)
	s, err := bolt.Open(path, bolt.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if err := os.Truncate(path, int64(4*os.Getpagesize())); err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	if _, err := s.Filed(ctx, 0, 9999); !errors.Is(err, bolt.ErrDamaged) {
		t.Errorf("reading: %v, want %v", err, bolt.ErrDamaged)
	}
	_, err = s.Exchange(ctx, session.Key{}, func(session.View) (session.Writes, error) {
		return session.Writes{Checks: []session.Check{storetest.Check(9999, "p", "p")}}, nil
	})
	if !errors.Is(err, bolt.ErrHalted) || !errors.Is(s.Healthy(), bolt.ErrHalted) {
		t.Errorf("writing: %v, healthy says %v, want %v", err, s.Healthy(), bolt.ErrHalted)
	}
	if err := s.Verify(ctx); !errors.Is(err, bolt.ErrDamaged) {
		t.Errorf("verify: %v, want %v", err, bolt.ErrDamaged)
	}
}

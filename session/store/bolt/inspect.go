package bolt

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"

	"threshline/session"
	"threshline/session/store/bolt/pages"
	"threshline/session/store/disk"
)

// smallest is less than any whole store has, in bytes: the library begins a
// file with four pages of 4 KiB or more.
const smallest = 4 << 12

// glance looks at a file before it is opened for writing. It reads all of one
// that is not large, or that has no list of its free pages: the library makes
// the list by reading everything, and gives up the whole program on some kinds
// of damage. Of others it looks at the length, which tells that the end is cut
// off, and at the way to the first and the last record of each kind.
func glance(path string, o Options) (inspected bool, err error) {
	if info, err := os.Stat(path); err == nil && info.Size() <= o.Inspect || !listsFree(path) {
		return true, inspect(path, o.LockWait)
	}
	return false, examine(path, o.LockWait, func(*os.File) error { return nil })
}

// inspect reads the whole file once. It finds what glance does, pages that are
// not what they should be and keys out of order.
func inspect(path string, wait time.Duration) error {
	return examine(path, wait, func(f *os.File) error {
		info, err := f.Stat()
		if err != nil {
			return err
		}
		if err := pages.Walk(f, info.Size()); err != nil {
			return damaged(path, err)
		}
		return nil
	})
}

// examine looks at a file that is not in use, then at the way to the first and
// the last record of every bucket.
func examine(path string, wait time.Duration, look func(*os.File) error) (err error) {
	defer recoverDamage(path, &err)
	defer faultsPanic()()
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	db, err := bbolt.Open(path, disk.Mode, &bbolt.Options{ReadOnly: true, Timeout: wait})
	if err != nil && info.Size() < smallest && !errors.Is(err, berrors.ErrInvalid) {
		return damaged(path, fmt.Errorf("cut short: %w", err))
	}
	if err != nil {
		return err
	}
	defer db.Close()
	tx, err := db.Begin(false)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	if tx.Size() > info.Size() {
		return damaged(path, fmt.Errorf("cut short: %d bytes of %d are there", info.Size(), tx.Size()))
	}
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := look(f); err != nil {
		return err
	}
	return tx.ForEach(func(_ []byte, b *bbolt.Bucket) error {
		c := b.Cursor()
		c.First()
		c.Last()
		return nil
	})
}

func inspectBucket(path string, name []byte, b *bbolt.Bucket) error {
	var last []byte
	c := b.Cursor()
	for k, v := c.First(); k != nil; k, v = c.Next() {
		if !bytes.Equal(name, aboutBucket) {
			unsealed(name, k, v)
		}
		if last != nil && bytes.Compare(last, k) >= 0 {
			return damaged(path, fmt.Errorf("keys of %q are out of order", name))
		}
		last = k
	}
	return nil
}

// inspectEach is how many entries of a serving store are looked at together:
// few enough that the pages which writers free meanwhile are soon used again.
const inspectEach = 2000

// Inspect reads the whole store while it serves, unless Open did. It calls
// rest, if not nil, between slices. When it finds damage the store takes no
// more writes; the error is then the *Fault that Healthy returns, too.
func (s *Store) Inspect(ctx context.Context, rest func()) error {
	if s.inspected {
		return nil
	}
	for _, name := range buckets {
		for from := []byte(nil); ; {
			if err := ctx.Err(); err != nil {
				return fmt.Errorf("bolt: %w", err)
			}
			next, err := s.inspectSlice(name, from)
			if errors.Is(err, session.ErrConflict) {
				continue // mended
			}
			if fault, ok := errors.AsType[*Fault](err); ok {
				s.ill.Store(fault)
			}
			if err != nil {
				return err
			}
			if next == nil {
				break
			}
			if from = next; rest != nil {
				rest()
			}
		}
	}
	return nil
}

// inspectSlice looks at the entries of a bucket behind one, and returns where
// it stopped; nil at the end.
func (s *Store) inspectSlice(name, behind []byte) (last []byte, err error) {
	err = s.snapshot(func(tx *bbolt.Tx) error {
		b := tx.Bucket(name)
		if b == nil {
			return damaged(s.path, fmt.Errorf("%q is missing", name))
		}
		c := b.Cursor()
		k, v := c.Seek(behind)
		n, before := 0, behind
		for ; k != nil && n < inspectEach; k, v = c.Next() {
			if !bytes.Equal(name, aboutBucket) {
				unsealed(name, k, v)
			}
			if n > 0 && bytes.Compare(before, k) >= 0 {
				return damaged(s.path, fmt.Errorf("keys of %q are out of order", name))
			}
			before = k
			n++
		}
		if k != nil {
			last = bytes.Clone(k)
		}
		return nil
	})
	return last, err
}

// listsFree reports whether the file at path holds a list of its free pages.
func listsFree(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	return pages.ListsFree(f)
}

// A list of free pages is written with a commit while it is short for what the
// commit writes anyway: then the file can be opened at once after a crash.
const (
	shortList   = 1000 // two pages
	shortPerJob = 8
)

// listFree says whether the next commit, of so many jobs, writes the list.
func (s *Store) listFree(jobs int) {
	stats := s.db.Stats()
	s.db.NoFreelistSync = stats.FreePageN+stats.PendingPageN > shortList+shortPerJob*jobs
}

// leaveList writes the list of free pages into a file that is being closed.
// Without it the next opening only takes longer.
func (s *Store) leaveList() (err error) {
	if !s.db.NoFreelistSync || s.Healthy() != nil {
		return nil
	}
	defer recoverDamage(s.path, &err)
	defer faultsPanic()()
	s.db.NoFreelistSync = false
	return s.db.Update(func(*bbolt.Tx) error { return nil })
}

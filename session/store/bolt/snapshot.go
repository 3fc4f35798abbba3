package bolt

import (
	"context"
	"errors"
	"fmt"

	"go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"

	"threshline/session"
)

// snapshot runs fn in a read transaction. An entry that the disk has changed is
// mended if possible, and the reader tries again.
func (s *Store) snapshot(fn func(*bbolt.Tx) error) error {
	err := s.look(fn)
	var r *rotten
	if !errors.As(err, &r) || s.mend(r) != nil {
		return err
	}
	return fmt.Errorf("bolt: %w: %w, and was mended", session.ErrConflict, r)
}

// read is snapshot for as long as somebody waits.
func (s *Store) read(ctx context.Context, fn func(*bbolt.Tx) error) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("bolt: %w", err)
	}
	return s.snapshot(fn)
}

// look runs fn in a read transaction. A page that the disk cannot give, or
// gives as something else, is an error of this reader, not the end of the
// program.
func (s *Store) look(fn func(*bbolt.Tx) error) (err error) {
	tx, err := s.db.Begin(false)
	if errors.Is(err, berrors.ErrDatabaseNotOpen) {
		return fmt.Errorf("bolt: %w", session.ErrClosed)
	}
	if err != nil {
		return fmt.Errorf("bolt: %w", err)
	}
	defer faultsPanic()()
	defer func() {
		tx.Rollback()
		switch r := recover().(type) {
		case nil:
		case foreign:
			panic(r.value)
		default: // the library's, on a page that is not what it should be, or a memory fault
			err = damaged(s.path, causeOf(r))
		}
	}()
	return fn(tx)
}

// foreign is a panic of a function that was handed in: a fault of the program,
// and not of the file.
type foreign struct{ value any }

// unreadable is a panic while a view was read: a fault of the file.
type unreadable struct{ value any }

func (u unreadable) String() string { return fmt.Sprint(u.value) }

// handedIn runs a function that was handed in, and marks its panics.
func handedIn[T any](v view, fn func(session.View) (T, error)) (T, error) {
	defer func() {
		switch r := recover().(type) {
		case nil:
		case unreadable:
			panic(r)
		default:
			panic(foreign{r})
		}
	}()
	return fn(v)
}

// readable marks a panic of a view's method. It must be deferred.
func readable() {
	if r := recover(); r != nil {
		if _, ok := r.(unreadable); !ok {
			r = unreadable{r}
		}
		panic(r)
	}
}

package boltstore

import (
	"errors"
	"fmt"

	bolt "go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"

	"threshline/session"
)

// snapshot runs fn in a read transaction. A page that the disk cannot give is
// an error of this reader, not the end of the program.
func (s *Store) snapshot(fn func(*bolt.Tx) error) (err error) {
	tx, err := s.db.Begin(false)
	if errors.Is(err, berrors.ErrDatabaseNotOpen) {
		return fmt.Errorf("boltstore: %w", session.ErrClosed)
	}
	if err != nil {
		return fmt.Errorf("boltstore: %w", err)
	}
	defer faultsPanic()()
	defer func() {
		tx.Rollback()
		switch r := recover().(type) {
		case nil:
		case interface{ Addr() uintptr }: // a memory fault, see debug.SetPanicOnFault
			err = damaged(s.path, fmt.Errorf("%v", r))
		default:
			panic(r)
		}
	}()
	return fn(tx)
}

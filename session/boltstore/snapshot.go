package boltstore

import (
	"errors"
	"fmt"

	bolt "go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"

	"threshline/session"
)

// snapshot runs fn in a read transaction.
func (s *Store) snapshot(fn func(*bolt.Tx) error) error {
	tx, err := s.db.Begin(false)
	if errors.Is(err, berrors.ErrDatabaseNotOpen) {
		return fmt.Errorf("boltstore: %w", session.ErrClosed)
	}
	if err != nil {
		return fmt.Errorf("boltstore: %w", err)
	}
	defer tx.Rollback()
	return fn(tx)
}

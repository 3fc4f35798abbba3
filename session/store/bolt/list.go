package bolt

import (
	"context"
	"encoding/binary"
	"fmt"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/record"
)

// Filed lists up to n checks whose Position is above after, in order of
// Position: the order in which they were last changed.
func (s *Store) Filed(ctx context.Context, after uint64, n int) ([]session.Check, error) {
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("bolt: %w", err)
	}
	var list []session.Check
	err := s.snapshot(func(tx *bbolt.Tx) error {
		c := in(tx, checkBucket).Cursor()
		for k, v := seekAfter(c, number(after)); k != nil && len(list) < n; k, v = c.Next() {
			check, err := checkAt(k, v)
			if err != nil {
				return err
			}
			if list == nil { // most of the times there is none
				list = make([]session.Check, 0, min(n, mostAtOnce))
			}
			list = append(list, check)
		}
		return nil
	})
	return list, err
}

// mostAtOnce is for how many checks room is made before they are read.
const mostAtOnce = 2000

// checkAt is the check that lies at a position.
func checkAt(k, v []byte) (check session.Check, err error) {
	version, err := record.Versioned(v, &check, record.Check)
	if err != nil {
		return check, fmt.Errorf("bolt: check at %d: %w", binary.BigEndian.Uint64(k), err)
	}
	check.Version, check.Position = version, binary.BigEndian.Uint64(k)
	return check, nil
}

// Newest lists up to n checks, those first that were changed last.
func (s *Store) Newest(ctx context.Context, n int) ([]session.Check, error) {
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("bolt: %w", err)
	}
	var list []session.Check
	err := s.snapshot(func(tx *bbolt.Tx) error {
		c := in(tx, checkBucket).Cursor()
		for k, v := c.Last(); k != nil && len(list) < n; k, v = c.Prev() {
			check, err := checkAt(k, v)
			if err != nil {
				return err
			}
			list = append(list, check)
		}
		return nil
	})
	return list, err
}

// People lists up to n people whose ID comes after the given one.
func (s *Store) People(ctx context.Context, after session.PersonID, n int) ([]session.Person, error) {
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("bolt: %w", err)
	}
	var list []session.Person
	err := s.snapshot(func(tx *bbolt.Tx) error {
		c := in(tx, personBucket).Cursor()
		for k, v := seekAfter(c, []byte(after)); k != nil && len(list) < n; k, v = c.Next() {
			var p session.Person
			version, err := record.Versioned(v, &p, record.Person)
			if err != nil {
				return fmt.Errorf("bolt: person %q: %w", k, err)
			}
			p.Version = version
			list = append(list, p)
		}
		return nil
	})
	return list, err
}

// Notes lists up to n audit notes, newest first: those before the given
// number, or from the newest when it is 0. The number returned is where to go
// on, 0 at the end.
func (s *Store) Notes(ctx context.Context, before uint64, n int) (notes []session.AuditNote, next uint64, err error) {
	if err := ctx.Err(); err != nil {
		return nil, 0, fmt.Errorf("bolt: %w", err)
	}
	err = s.snapshot(func(tx *bbolt.Tx) error {
		c := in(tx, noteBucket).Cursor()
		k, v := c.Last()
		if before != 0 {
			if k, _ = c.Seek(number(before)); k == nil {
				k, v = c.Last()
			} else {
				k, v = c.Prev()
			}
		}
		for ; k != nil; k, v = c.Prev() {
			if len(notes) == n {
				next = binary.BigEndian.Uint64(k) + 1
				return nil
			}
			var note session.AuditNote
			if err := record.Decode(v, &note, record.Note); err != nil {
				return fmt.Errorf("bolt: note: %w", err)
			}
			notes = append(notes, note)
		}
		return nil
	})
	return notes, next, err
}

// Account finds one account; session.ErrNotFound when there is no such account.
func (s *Store) Account(ctx context.Context, id session.AccountID) (a session.Account, err error) {
	if err := ctx.Err(); err != nil {
		return session.Account{}, fmt.Errorf("bolt: %w", err)
	}
	err = s.snapshot(func(tx *bbolt.Tx) (err error) {
		a.Version, err = record.Versioned(in(tx, accountBucket).Get([]byte(id)), &a, record.Account)
		return err
	})
	if err != nil {
		return session.Account{}, fmt.Errorf("bolt: account: %w", err)
	}
	return a, nil
}

// Accounts lists up to n accounts whose ID comes after the given one.
func (s *Store) Accounts(ctx context.Context, after session.AccountID, n int) (list []session.Account, err error) {
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("bolt: %w", err)
	}
	err = s.snapshot(func(tx *bbolt.Tx) error {
		c := in(tx, accountBucket).Cursor()
		for k, v := seekAfter(c, []byte(after)); k != nil && len(list) < n; k, v = c.Next() {
			var a session.Account
			version, err := record.Versioned(v, &a, record.Account)
			if err != nil {
				return fmt.Errorf("bolt: account: %w", err)
			}
			a.Version = version
			list = append(list, a)
		}
		return nil
	})
	return list, err
}

// seekAfter finds the first entry beyond key.
func seekAfter(c cursor, key []byte) (k, v []byte) {
	k, v = c.Seek(key)
	if k != nil && string(k) == string(key) {
		return c.Next()
	}
	return k, v
}

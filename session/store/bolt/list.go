package bolt

import (
	"context"
	"encoding/binary"
	"fmt"
	"slices"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/record"
)

// Filed lists up to n checks whose Position is above after, in order of
// Position: the order in which they were last changed.
func (s *Store) Filed(ctx context.Context, after uint64, n int) ([]session.Check, error) {
	return listed(ctx, s, checkBucket, number(after), n, checkAt)
}

// Newest lists up to n checks, those first that were changed last.
func (s *Store) Newest(ctx context.Context, n int) (list []session.Check, err error) {
	err = s.read(ctx, func(tx *bbolt.Tx) error {
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
	return listed(ctx, s, personBucket, []byte(after), n, personAt)
}

// Notes lists up to n audit notes, newest first: those before the given
// number, or from the newest when it is 0. The number returned is where to go
// on, 0 at the end.
func (s *Store) Notes(ctx context.Context, before uint64, n int) (notes []session.AuditNote, next uint64, err error) {
	err = s.read(ctx, func(tx *bbolt.Tx) error {
		c := in(tx, noteBucket).Cursor()
		k, v := c.Last()
		if before != 0 {
			k, v = seekBefore(c, number(before))
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
	err = s.read(ctx, func(tx *bbolt.Tx) (err error) {
		a, err = accountAt([]byte(id), in(tx, accountBucket).Get([]byte(id)))
		return err
	})
	return a, err
}

// Accounts lists up to n accounts whose ID comes after the given one.
func (s *Store) Accounts(ctx context.Context, after session.AccountID, n int) ([]session.Account, error) {
	return listed(ctx, s, accountBucket, []byte(after), n, accountAt)
}

// listed reads up to n entries of a bucket that lie beyond a key.
func listed[T any](ctx context.Context, s *Store, bucket, after []byte, n int, read func(k, v []byte) (T, error)) (list []T, err error) {
	err = s.read(ctx, func(tx *bbolt.Tx) error {
		c := in(tx, bucket).Cursor()
		for k, v := seekAfter(c, after); k != nil && len(list) < n; k, v = c.Next() {
			one, err := read(k, v)
			if err != nil {
				return err
			}
			if len(list) == fewAtOnce { // often there are none, or few
				list = slices.Grow(list, min(n, mostAtOnce)-fewAtOnce)
			}
			list = append(list, one)
		}
		return nil
	})
	return list, err
}

// mostAtOnce is for how many entries room is made before they are read, once there are
// more than a few.
const fewAtOnce, mostAtOnce = 64, 2000

// checkAt is the check that lies at a position.
func checkAt(k, v []byte) (check session.Check, err error) {
	if check.Version, err = record.Versioned(v, &check, record.Check); err != nil {
		return session.Check{}, fmt.Errorf("bolt: check at %x: %w", k, err)
	}
	check.Position = binary.BigEndian.Uint64(k)
	return check, nil
}

func personAt(k, v []byte) (p session.Person, err error) {
	if p.Version, err = record.Versioned(v, &p, record.Person); err != nil {
		return session.Person{}, fmt.Errorf("bolt: person %q: %w", k, err)
	}
	return p, nil
}

func accountAt(_, v []byte) (a session.Account, err error) {
	if a.Version, err = record.Versioned(v, &a, record.Account); err != nil {
		return session.Account{}, fmt.Errorf("bolt: account: %w", err)
	}
	return a, nil
}

func inviteAt(k, v []byte) (i session.Invite, err error) {
	if i.Version, err = record.Versioned(v, &i, record.Invite); err != nil {
		return session.Invite{}, fmt.Errorf("bolt: invite %q: %w", k, err)
	}
	return i, nil
}

// seekAfter finds the first entry beyond key.
func seekAfter(c cursor, key []byte) (k, v []byte) {
	k, v = c.Seek(key)
	if k != nil && string(k) == string(key) {
		return c.Next()
	}
	return k, v
}

// seekBefore finds the last entry before key.
func seekBefore(c cursor, key []byte) (k, v []byte) {
	if k, _ := c.Seek(key); k == nil {
		return c.Last()
	}
	return c.Prev()
}

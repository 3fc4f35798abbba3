package postgres

import (
	"context"
	"fmt"
	"math"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"threshline/session"
	"threshline/session/store/record"
)

// query asks the database for rows, outside of any exchange. A connection that
// was gone already is replaced, and so is what gave way to another transaction
// done again.
func (s *Store) query(ctx context.Context, doing, sql string, args []any, scan func(pgx.Rows) error) error {
	if err := s.open(ctx); err != nil {
		return err
	}
	bounded, cancel := context.WithTimeout(ctx, s.options.Answer)
	defer cancel()
	var err error
	for range s.options.Connections + 1 {
		err = fault(ctx, doing, each(bounded, s.pool, sql, args, scan))
		if err == nil || !pgconn.SafeToRetry(err) && !is(err, errAgain) {
			break
		}
	}
	s.report(err)
	return err
}

// limit is a number of rows as the database takes it.
func limit(n int) int64 { return int64(min(max(n, 0), math.MaxInt32)) }

// versioned scans a version and a record.
func versioned[T any](r pgx.Rows, v *T, fields func(*record.Coder, *T)) (uint64, error) {
	var version int64
	var value []byte
	if err := r.Scan(&version, &value); err != nil {
		return 0, err
	}
	if err := record.Decode(value, v, fields); err != nil {
		return 0, fmt.Errorf("postgres: %T: %w", *v, err)
	}
	return uint64(version), nil
}

// Filed lists up to n checks whose Position is above after, in order of
// Position: the order in which they were last changed, and committed. None that
// commits later has a lower one.
func (s *Store) Filed(ctx context.Context, after uint64, n int) ([]session.Check, error) {
	return s.checks(ctx, "filed", "where position > $1 order by position limit $2", int64(min(after, math.MaxInt64)), limit(n))
}

// Newest lists up to n checks, those first that were changed last.
func (s *Store) Newest(ctx context.Context, n int) ([]session.Check, error) {
	return s.checks(ctx, "newest", "order by position desc limit $1", limit(n))
}

func (s *Store) checks(ctx context.Context, doing, where string, args ...any) (list []session.Check, err error) {
	err = s.query(ctx, doing, checkSQL+where, args, func(r pgx.Rows) error {
		k, err := scanCheck(r)
		list = append(list, k)
		return err
	})
	return list, err
}

// People lists up to n people whose ID comes after the given one.
func (s *Store) People(ctx context.Context, after session.PersonID, n int) (list []session.Person, err error) {
	err = s.query(ctx, "people", "select version, value from people where id > $1 order by id limit $2", []any{after, limit(n)}, func(r pgx.Rows) error {
		p, err := scanPerson(r)
		list = append(list, p)
		return err
	})
	return list, err
}

// Notes lists up to n audit notes, newest first: those before the given
// number, or from the newest when it is 0. The number returned is where to go
// on, 0 at the end.
func (s *Store) Notes(ctx context.Context, before uint64, n int) (notes []session.AuditNote, next uint64, err error) {
	if before == 0 || before > math.MaxInt64 {
		before = math.MaxInt64
	}
	err = s.query(ctx, "notes", "select number, value from notes where number < $1 order by number desc limit $2", []any{int64(before), limit(n) + 1}, func(r pgx.Rows) error {
		var note session.AuditNote
		number, err := versioned(r, &note, record.Note)
		if len(notes) == n {
			next = number + 1
			return err
		}
		notes = append(notes, note)
		return err
	})
	return notes, next, err
}

// Account finds one account; session.ErrNotFound when there is no such account.
func (s *Store) Account(ctx context.Context, id session.AccountID) (session.Account, error) {
	return one(s.accounts(ctx, "where id = $1", id))("account")
}

// Accounts lists up to n accounts whose ID comes after the given one.
func (s *Store) Accounts(ctx context.Context, after session.AccountID, n int) ([]session.Account, error) {
	return s.accounts(ctx, "where id > $1 order by id limit $2", after, limit(n))
}

func (s *Store) accounts(ctx context.Context, where string, args ...any) (list []session.Account, err error) {
	err = s.query(ctx, "accounts", "select version, value from accounts "+where, args, func(r pgx.Rows) (err error) {
		var a session.Account
		a.Version, err = versioned(r, &a, record.Account)
		list = append(list, a)
		return err
	})
	return list, err
}

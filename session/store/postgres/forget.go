package postgres

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"

	"github.com/jackc/pgx/v5"

	"threshline/session"
)

// forgetting commits an exchange in which a person is forgotten. It reads every
// message, answer and dialogue, which takes more round trips; this is rare. An
// exchange that read a name before, and was being written meanwhile, may have stored
// it since: who was forgotten is kept until they were looked for once more. The
// exchange is stored by then, whatever comes of that.
func (s *Store) forgetting(ctx context.Context, x *exchange) (answered *session.Reply, err error) {
	answered, err = s.erase(ctx, x)
	if err == nil && answered == nil {
		s.report(s.forgetRest(context.WithoutCancel(ctx)))
	}
	s.recent.clear()
	return answered, err
}

// erase writes x, and removes what its traces name from everything else, in one
// transaction.
func (s *Store) erase(ctx context.Context, x *exchange) (answered *session.Reply, err error) {
	traces, err := json.Marshal(x.writes.Forget)
	if err != nil {
		return nil, err
	}
	err = s.erasing(ctx, func(e *eraser) error {
		e.written = x
		j := &job{x: x}
		// First what write_exchanges locks first: who files a check meanwhile holds
		// that, and may wait for a dialogue.
		if err := e.exec("select pg_advisory_xact_lock(hashtextextended(current_schema() || ' checks', 0)) from fresh($1)", x.forgotten); err != nil {
			return err
		}
		list, err := e.lock(x.writes.Forget, x.key.Phone)
		if err != nil {
			return err
		}
		var item int
		var r result
		if err := e.tx.QueryRow(ctx, writeSQL, arrays([]*job{j})...).Scan(&item, &r.outcome, &r.what, &r.was, &r.stored); err != nil {
			return err
		}
		if err := j.result(r); err != nil || j.answered != nil {
			answered = j.answered
			return cmp.Or(err, errNothing)
		}
		if err := e.all(x.writes.Forget, list); err != nil {
			return err
		}
		if err := e.exec("insert into forgetting (traces) values ($1)", traces); err != nil {
			return err
		}
		return e.exec("update about set forgotten = forgotten + 1") // from now on who has read before is refused
	})
	if errors.Is(err, errNothing) {
		err = nil
	}
	return answered, err
}

// errNothing: there is nothing to commit.
var errNothing = errors.New("postgres: nothing to commit")

// forgetRest looks once more for those who were forgotten, when all are done who
// may have been writing what they read before, and is done with them then.
func (s *Store) forgetRest(ctx context.Context) (err error) {
	for range maxRuns {
		if err = s.forgetRestOnce(ctx); !errors.Is(err, errAgain) && !errors.Is(err, session.ErrBusy) {
			break
		}
	}
	return err
}

func (s *Store) forgetRestOnce(ctx context.Context) error {
	var numbers []int64
	err := s.query(ctx, "look who was forgotten", "select number from forgetting order by number", nil, func(r pgx.Rows) error {
		var n int64
		err := r.Scan(&n)
		numbers = append(numbers, n)
		return err
	})
	if err != nil || len(numbers) == 0 {
		return err
	}
	if err := s.query(ctx, "wait for those who write", "select await_writers()", nil, func(pgx.Rows) error { return nil }); err != nil {
		return err
	}
	return s.erasing(ctx, func(e *eraser) error {
		var all []session.Trace
		err := each(ctx, e.tx, "delete from forgetting where number = any($1) returning traces", []any{numbers}, func(r pgx.Rows) error {
			var traces []session.Trace
			var value []byte
			if err := r.Scan(&value); err != nil {
				return err
			}
			err := json.Unmarshal(value, &traces)
			all = append(all, traces...)
			return err
		})
		if err != nil {
			return err
		}
		for i, t := range all {
			taken := false // by somebody who joined since: the number is theirs
			if err := e.tx.QueryRow(ctx, "select exists (select 1 from people where phone = $1)", t.Phone).Scan(&taken); err != nil {
				return err
			}
			if taken {
				all[i].Phone = ""
			}
		}
		list, err := e.lock(all, "")
		if err != nil {
			return err
		}
		return e.all(all, list)
	})
}

// erasing runs work in one transaction, and commits it.
func (s *Store) erasing(ctx context.Context, work func(*eraser) error) error {
	if err := s.open(ctx); err != nil {
		return err
	}
	tx, err := s.pool.Begin(ctx)
	if err != nil {
		return fault(ctx, "forget", err)
	}
	defer tx.Rollback(context.WithoutCancel(ctx)) //nolint:errcheck // does nothing once committed
	if _, err := tx.Exec(ctx, "set local statement_timeout = 0"); err != nil {
		return fault(ctx, "forget", err)
	}
	if err := work(&eraser{ctx: ctx, tx: tx, hasher: s.hasher}); err != nil {
		return fault(ctx, "forget", err)
	}
	return fault(ctx, "forget", tx.Commit(ctx))
}

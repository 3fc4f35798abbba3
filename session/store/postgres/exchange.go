package postgres

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5/pgxpool"

	"threshline/session"
	"threshline/session/store/record"
)

// maxRuns bounds how often one exchange's turn is run.
const maxRuns = 8

// Exchange runs the turn in this goroutine, and commits what it returns together
// with its reply and the duplicate key, before it returns. For a phone that this
// gateway served lately that is one round trip: the turn runs on what was known
// then, and the commit checks that it still holds. Else, and where that does not
// do, it is two, of which the first reads on a snapshot. There are more where a turn
// asks what neither its message nor the turn before foresaw (after a move from
// another engine or version; more checks than were read along; lots to visit that
// changed meanwhile), where it runs again, where it forgets somebody, and in work of
// our own, which has no phone.
//
// When a record was changed meanwhile the turn is run again. When the answer to
// a commit is lost, the duplicate key says whether it was stored; without one
// the exchange may have been stored although the error is session.ErrAway.
//
// It returns the turn's own error; session.ErrConflict after eight runs, with
// session.ErrExists in it when a new record's key was taken; ErrNotFound when
// the reminder to be fired is gone; ErrAway, ErrBusy, ErrFull or ErrClosed; ErrHalted
// when the journal's disk has failed. With ErrFull and ErrHalted the exchange may
// be stored: a message that comes again is answered when the journal holds it.
func (s *Store) Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error) {
	if err := within("an exchange's phone", string(key.Phone)); err != nil {
		return session.Outcome{}, err
	}
	known, served, cleared := s.recent.take(key.Phone)
	if served {
		l := &lookup{phone: key.Phone, key: s.hasher.AnswerKey(key), standing: known}
		if x, decided, err := s.attempt(ctx, l, key, turn, cleared); decided {
			return s.outcome(l, x, 1, cleared, err)
		}
	}
	var err error
	for run := 1; run <= maxRuns; run++ {
		l := &lookup{phone: key.Phone, key: s.hasher.AnswerKey(key), asks: asksText(key.Asks)}
		var x *exchange
		x, err = s.turn(ctx, l, key, turn)
		var answered *session.Reply
		switch {
		case err != nil:
			return session.Outcome{}, err
		case l.reply != nil:
			if answered, err = readReply(l.reply); err != nil {
				return session.Outcome{}, err
			}
			// Whoever stored it may have ended before its journal held it.
			return s.kept(session.Outcome{Reply: *answered, Duplicate: true, Until: l.until, Runs: run - 1})
		case x.empty():
			return session.Outcome{Reply: x.writes.Reply, Runs: run}, nil
		case len(x.writes.Forget) > 0:
			answered, err = s.forgetting(ctx, x)
		default:
			answered, err = s.submit(ctx, x)
		}
		switch {
		case err == nil && answered != nil:
			return s.kept(session.Outcome{Reply: *answered, Duplicate: true, Runs: run})
		case errors.Is(err, errUnknown) && key.Duplicate != "", errors.Is(err, errAgain), errors.Is(err, session.ErrConflict):
			// The next run looks for the duplicate key first. Should the lost
			// commit come through only then, it holds the key and the dialogue's
			// version, and this run's write finds that.
		default:
			return s.outcome(l, x, run, cleared, err)
		}
	}
	if !errors.Is(err, session.ErrConflict) {
		err = fmt.Errorf("%w: %w", session.ErrBusy, err)
	}
	return session.Outcome{}, err
}

// outcome is what became of an exchange that needs no further run.
func (s *Store) outcome(l *lookup, x *exchange, runs, cleared int, err error) (session.Outcome, error) {
	if errors.Is(err, errUnknown) {
		err = fmt.Errorf("%w: %w", session.ErrAway, err)
	}
	if err != nil {
		return session.Outcome{}, err
	}
	s.remember(l, x, cleared)
	out := session.Outcome{Reply: x.writes.Reply, Runs: runs}
	if x.recorded() {
		return s.kept(out)
	}
	return out, nil
}

// turn runs the turn once on a snapshot and gets its writes ready, or finds the
// reply to an earlier delivery.
func (s *Store) turn(ctx context.Context, l *lookup, key session.Key, turn session.Turn) (x *exchange, err error) {
	if err := s.look(ctx, l); err != nil {
		return nil, err
	}
	carried := (*pgxpool.Conn)(nil)
	defer func() {
		if carried = l.snapshot.release(); x != nil && err == nil && !x.empty() && len(x.writes.Forget) == 0 {
			x.conn = carried
			return
		}
		s.drop(carried)
	}()
	if l.reply != nil {
		return nil, nil
	}
	if err := l.answer(); err != nil {
		return nil, err
	}
	w, err := turn(view{ctx: ctx, rows: l.snapshot, read: l})
	if err != nil {
		return nil, err
	}
	if x, err = prepare(key, l.key, l.dialogueVersion, &w); err == nil {
		x.forgotten = l.forgotten
	}
	return x, err
}

func readReply(v []byte) (*session.Reply, error) {
	var reply session.Reply
	if err := record.Decode(v, &reply, record.Reply); err != nil {
		return nil, fmt.Errorf("postgres: stored reply: %w", err)
	}
	return &reply, nil
}

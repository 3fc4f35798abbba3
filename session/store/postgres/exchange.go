package postgres

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"threshline/session"
	"threshline/session/store/record"
)

// maxRuns bounds how often one exchange's turn is run.
const maxRuns = 8

// Exchange runs the turn on a snapshot, in this goroutine, and commits what it
// returns together with its reply and the duplicate key, before it returns: two
// round trips. There are more where a turn asks what neither its message nor the
// turn before foresaw (after a move from another engine or version; more checks
// than were read along; lots to visit that changed meanwhile), where it runs
// again, where it forgets somebody, and in work of our own, which has no phone.
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
	var err error
	for run := 1; run <= maxRuns; run++ {
		var x *exchange
		var answered *session.Reply
		var until time.Time
		x, answered, until, err = s.turn(ctx, key, turn)
		switch {
		case err != nil:
			return session.Outcome{}, err
		case answered != nil:
			// Whoever stored it may have ended before its journal held it.
			return s.kept(session.Outcome{Reply: *answered, Duplicate: true, Until: until, Runs: run - 1})
		case x.empty():
			return session.Outcome{Reply: x.writes.Reply, Runs: run}, nil
		}
		if len(x.writes.Forget) > 0 {
			answered, err = s.forgetting(ctx, x)
		} else {
			answered, err = s.submit(ctx, x)
		}
		switch {
		case err == nil && answered != nil:
			return s.kept(session.Outcome{Reply: *answered, Duplicate: true, Runs: run})
		case err == nil && x.recorded():
			return s.kept(session.Outcome{Reply: x.writes.Reply, Runs: run})
		case err == nil:
			return session.Outcome{Reply: x.writes.Reply, Runs: run}, nil
		case errors.Is(err, errUnknown) && key.Duplicate == "":
			return session.Outcome{}, fmt.Errorf("%w: %w", session.ErrAway, err)
		case errors.Is(err, errUnknown), errors.Is(err, errAgain), errors.Is(err, session.ErrConflict):
			// The next run looks for the duplicate key first. Should the lost
			// commit come through only then, it holds the key and the dialogue's
			// version, and this run's write finds that.
		default:
			return session.Outcome{}, err
		}
	}
	if !errors.Is(err, session.ErrConflict) {
		err = fmt.Errorf("%w: %w", session.ErrBusy, err)
	}
	return session.Outcome{}, err
}

// turn runs the turn once on a snapshot and gets its writes ready, or finds the
// reply to an earlier delivery and until when that is kept.
func (s *Store) turn(ctx context.Context, key session.Key, turn session.Turn) (x *exchange, answered *session.Reply, until time.Time, err error) {
	l := &lookup{phone: key.Phone, key: s.hasher.AnswerKey(key), asks: asksText(key.Asks)}
	if err := s.look(ctx, l); err != nil {
		return nil, nil, until, err
	}
	carried := (*pgxpool.Conn)(nil)
	defer func() {
		if carried = l.snapshot.release(); x != nil && err == nil && !x.empty() && len(x.writes.Forget) == 0 {
			x.conn = carried
			return
		}
		s.drop(carried)
	}()
	if l.answers {
		reply, err := readReply(l.reply)
		return nil, reply, l.until, err
	}
	if err := l.answer(); err != nil {
		return nil, nil, until, err
	}
	w, err := turn(view{ctx: ctx, rows: l.snapshot, read: l})
	if err != nil {
		return nil, nil, until, err
	}
	x, err = prepare(key, l.key, l.dialogueVersion, &w)
	return x, nil, until, err
}

func readReply(v []byte) (*session.Reply, error) {
	var reply session.Reply
	if err := record.Decode(v, &reply, record.Reply); err != nil {
		return nil, fmt.Errorf("postgres: stored reply: %w", err)
	}
	return &reply, nil
}

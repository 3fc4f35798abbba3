package bolt

import (
	"context"
	"errors"
	"fmt"

	"go.etcd.io/bbolt"

	"threshline/session"
)

// maxRuns bounds how often one exchange's turn is run.
const maxRuns = 8

// errAnswered stops a commit whose message another delivery answered first.
var errAnswered = errors.New("answered before")

// Exchange runs the turn on a snapshot, in this goroutine, and commits what it
// returns together with its reply and the duplicate key, before it returns.
// When a record was changed meanwhile the turn is run again.
//
// It returns the turn's own error; session.ErrConflict after eight runs, with
// session.ErrExists in it when a new record's key was taken; ErrNotFound when
// the reminder to be fired is gone; ErrBusy, ErrFull, ErrClosed or a *Fault.
// After any error nothing of the exchange is stored.
func (s *Store) Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error) {
	if err := checkKey(key); err != nil {
		return session.Outcome{}, err
	}
	var err error
	for run := 1; run <= maxRuns; run++ {
		if err := ctx.Err(); err != nil {
			return session.Outcome{}, fmt.Errorf("bolt: %w", err)
		}
		x := exchange{keep: s.options.KeepSent, hasher: s.hasher, older: s.older, answerKey: s.hasher.AnswerKey(key)}
		var answered *session.Reply
		answered, err = s.turn(key, turn, &x)
		switch {
		case err != nil:
			return session.Outcome{}, err
		case answered != nil && s.journal.Late():
			// Answered, but the journal could not be written then: it must be now.
			if err := s.submit(ctx, nothing{}); err != nil {
				return session.Outcome{}, err
			}
			return session.Outcome{Reply: *answered, Duplicate: true, Until: x.until, Runs: run - 1}, nil
		case answered != nil:
			return session.Outcome{Reply: *answered, Duplicate: true, Until: x.until, Runs: run - 1}, nil
		case x.empty():
			return session.Outcome{Reply: x.writes.Reply, Runs: run}, nil
		}
		err = s.submit(ctx, &x)
		switch {
		case err == nil && len(x.erasures) > 0:
			return session.Outcome{Reply: x.writes.Reply, Runs: run}, s.forgetNames(ctx, x.writes.Forget)
		case err == nil:
			return session.Outcome{Reply: x.writes.Reply, Runs: run}, nil
		case errors.Is(err, errAnswered):
			return session.Outcome{Reply: x.stored, Duplicate: true, Runs: run}, nil
		case !errors.Is(err, session.ErrConflict):
			return session.Outcome{}, err
		}
	}
	return session.Outcome{}, err
}

// turn runs the turn once on a snapshot and gets its writes ready in x, or
// finds the reply to an earlier delivery.
func (s *Store) turn(key session.Key, turn session.Turn, x *exchange) (answered *session.Reply, err error) {
	err = s.snapshot(func(tx *bbolt.Tx) error {
		held := view{tx: tx, phone: key.Phone, recall: s.recall}
		if key.Phone != "" {
			held.dialogue = in(tx, dialogueBucket).Get([]byte(key.Phone))
		}
		x.key, x.swept = key, s.swept.Load()
		if answered, x.until, err = storedReply(tx, s.older, held.dialogue, x.answerKey, x.swept); err != nil || answered != nil {
			return err
		}
		h, err := readDialogueHead(held.dialogue)
		if err != nil {
			return err
		}
		x.read = h.version
		if x.writes, err = handedIn(held, turn); err != nil {
			return err
		}
		return x.prepare(tx, held.dialogue)
	})
	return answered, err
}

// Read runs fn on a snapshot. It returns fn's error, session.ErrClosed or a
// context's.
func (s *Store) Read(ctx context.Context, fn func(session.View) error) error {
	return s.read(ctx, func(tx *bbolt.Tx) error {
		_, err := handedIn(view{tx: tx}, func(v session.View) (struct{}, error) { return struct{}{}, fn(v) })
		return err
	})
}

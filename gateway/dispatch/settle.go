package dispatch

import (
	"context"
	"errors"
	"maps"
	"slices"
	"time"

	"threshline/session"
)

// end gives a message the state of its verdict and stores it.
func (w *Worker) end(ctx context.Context, now time.Time, o session.Outgoing, v verdict) {
	o.State, o.Changed, o.Problem = v.state, now, v.problem
	if v.state == session.Queued {
		o.Due = v.due
	}
	err := w.settle(ctx, o)
	w.mu.Lock()
	defer w.mu.Unlock()
	// Only now: until here, a new claim must find that the message is ours.
	if lease, flying := w.flying[o.ID]; flying {
		o.Lease = lease
		delete(w.flying, o.ID)
	}
	if err != nil {
		w.unsettled[o.ID] = o
	}
}

// latest gives a message that is being sent the lease of its latest claim.
func (w *Worker) latest(o session.Outgoing) session.Outgoing {
	w.mu.Lock()
	defer w.mu.Unlock()
	if lease, flying := w.flying[o.ID]; flying {
		o.Lease = lease
	}
	return o
}

// settle stores a message. If our lease ended and somebody else has handled the
// message meanwhile, that is no error: there is nothing left to store.
func (w *Worker) settle(ctx context.Context, o session.Outgoing) error {
	o = w.latest(o)
	err := w.cfg.Queue.Settle(ctx, o)
	for errors.Is(err, session.ErrConflict) {
		again := w.latest(o)
		if again.Lease == o.Lease {
			break
		}
		o = again
		err = w.cfg.Queue.Settle(ctx, o)
	}
	switch {
	case err == nil:
		w.cfg.Watcher.Settled(o)
	case errors.Is(err, session.ErrConflict), errors.Is(err, session.ErrNotFound):
		w.cfg.Watcher.Failed("settle a message that another worker has taken", err)
		return nil
	default:
		w.cfg.Watcher.Failed("store what became of an outgoing message", err)
	}
	return err
}

// settleLeft stores the outcomes that could not be stored before. While the
// store does not take them, no new message is claimed: a message that is sent
// but cannot be stored would be sent twice.
func (w *Worker) settleLeft(ctx context.Context) error {
	w.mu.Lock()
	left := slices.Collect(maps.Values(w.unsettled))
	w.mu.Unlock()
	for _, o := range left {
		if err := w.settle(ctx, o); err != nil {
			return err
		}
		w.mu.Lock()
		delete(w.unsettled, o.ID)
		w.mu.Unlock()
	}
	return nil
}

// Retry says how often and when a failed message is tried again. These are our
// own choices: the second try comes soon, since most faults pass within
// seconds, and the last after about five hours.
type Retry struct {
	First    time.Duration // wait after the first failure; 0 is 5 s
	Factor   float64       // each wait is so many times the one before; 0 is 3
	Longest  time.Duration // no wait is longer; 0 is 2 h
	Attempts int           // given up after so many; 0 is 10
}

func (r Retry) withDefaults() Retry {
	if r.First <= 0 {
		r.First = 5 * time.Second
	}
	if r.Factor < 1 {
		r.Factor = 3
	}
	if r.Longest <= 0 {
		r.Longest = 2 * time.Hour
	}
	if r.Attempts <= 0 {
		r.Attempts = 10
	}
	return r
}

// wait is how long to wait after the given number of failed attempts, at
// least 1. The upper half of the wait is spread by spread, 0 to 1, so that
// messages that failed together do not come back together. What the carrier
// asked for is never undercut.
func (r Retry) wait(attempts int, spread float64, asked time.Duration) time.Duration {
	wait := float64(r.First)
	for range attempts - 1 {
		wait *= r.Factor
		if wait >= float64(r.Longest) {
			break
		}
	}
	wait = min(wait, float64(r.Longest))
	wait = wait/2 + wait/2*spread
	if asked > 0 {
		// Spread by up to a tenth above, for the same reason.
		wait = max(wait, float64(asked)*(1+spread/10))
	}
	return time.Duration(wait)
}

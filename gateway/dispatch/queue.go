package dispatch

import (
	"context"
	"fmt"
	"time"

	"threshline/session"
)

// Queue is the part of a store that the worker needs.
type Queue interface {
	// Claim takes up to n queued messages that are due at now and that nobody
	// else holds, oldest first. They are the caller's until now+lease.
	Claim(ctx context.Context, now time.Time, n int, lease time.Duration) ([]session.Outgoing, error)
	// Settle stores what became of a claimed message and ends the claim. It
	// returns session.ErrConflict when the claim is no longer the last one, and
	// session.ErrNotFound when the message is gone.
	Settle(ctx context.Context, o session.Outgoing) error
	// SetBack puts right what waits because of a clock that was ahead and is set
	// back to now: see [session.Outgoing.SetBack]. A claim holds no longer than
	// until now+lease.
	SetBack(ctx context.Context, now time.Time, lease time.Duration) error
}

// Carrier hands messages to whoever delivers them.
type Carrier interface {
	// Hand gives one message to the carrier, with its ID as the client
	// reference, and returns the carrier's own id for it, which may be empty.
	// A [*Refusal] says that the carrier surely did not take the message; after
	// any other error nobody knows, and it will be handed on again.
	Hand(ctx context.Context, o session.Outgoing) (carrierID string, err error)
}

// Refusal is a carrier's "no".
type Refusal struct {
	// Final says that there is no use in trying again: a wrong number, or a
	// message that the carrier will never take.
	Final bool
	// Slow says that the carrier asks us to slow down: the whole channel waits.
	Slow bool
	// After is how long the carrier asks us to wait; 0 when it does not say.
	After time.Duration
	// Problem says what went wrong in plain words, without a number or text.
	Problem string
}

// Error implements error.
func (r *Refusal) Error() string { return fmt.Sprintf("dispatch: carrier refused: %s", r.Problem) }

// Watcher is told what the worker does. Its methods are called from several
// goroutines at once and must not block.
type Watcher interface {
	// Settled is called after each change of a message's state was stored; a
	// state of Queued is a message put off or to be tried again.
	Settled(o session.Outgoing)
	// Spent is called when a part of a channel's money of the day reaches the
	// warning share of its limit, and when it reaches the limit: once a day each.
	Spent(channel string, part session.Part, spent, limit float64)
	// Failed is called when the store or a lookup fails; the work is done again.
	Failed(doing string, err error)
}

// unwatched is the Watcher of a worker without one.
type unwatched struct{}

func (unwatched) Settled(session.Outgoing)                     {}
func (unwatched) Spent(string, session.Part, float64, float64) {}
func (unwatched) Failed(string, error)                         {}

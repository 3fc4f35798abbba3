package storetest

import (
	"context"
	"errors"
	"testing"
	"time"

	"threshline/session"
)

// Engine is all that a storage engine does. Whoever uses one declares the few
// methods they need; the suite needs them all.
type Engine interface {
	Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error)
	Read(ctx context.Context, fn func(session.View) error) error

	Claim(ctx context.Context, now time.Time, n int, lease time.Duration) ([]session.Outgoing, error)
	Settle(ctx context.Context, o session.Outgoing) error
	SetBack(ctx context.Context, now time.Time, lease time.Duration) error
	Receipt(ctx context.Context, channel, carrierID string, state session.OutgoingState, at time.Time) error
	Sent(ctx context.Context, after session.Outgoing, n int) ([]session.Outgoing, error)
	Counts(ctx context.Context) (map[session.OutgoingState]int, error)
	QueueAge(ctx context.Context, now time.Time) (time.Duration, error)

	Due(ctx context.Context, now time.Time, n int) ([]session.Reminder, error)
	Filed(ctx context.Context, after uint64, n int) ([]session.Check, error)
	Newest(ctx context.Context, n int) ([]session.Check, error)
	People(ctx context.Context, after session.PersonID, n int) ([]session.Person, error)
	Notes(ctx context.Context, before uint64, n int) (notes []session.AuditNote, next uint64, err error)

	Account(ctx context.Context, id session.AccountID) (session.Account, error)
	Accounts(ctx context.Context, after session.AccountID, n int) ([]session.Account, error)

	Sweep(ctx context.Context, now time.Time, n int) (int, error)
	Verify(ctx context.Context) error
	Healthy() error
	Close() error
}

// Reopener is an Engine whose records outlive it.
type Reopener interface {
	Engine
	// Reopen closes the engine and opens what it kept anew.
	Reopen(t *testing.T) Reopener
}

// Run has every engine that open makes, a fresh one for each case, prove what
// the contract in package session promises. KeepSent must be KeepSent.
func Run(t *testing.T, open func(t *testing.T) Engine) {
	for _, group := range [][]testCase{
		exchangeCases, conflictCases, recordCases, listCases, outgoingCases, receiptCases, reminderCases, sweepCases, lifeCases, togetherCases, accountCases, coordinatorCases, namedCases, forgetCases,
	} {
		for _, c := range group {
			t.Run(c.name, func(t *testing.T) {
				e := open(t)
				c.run(t, e)
				// A case that closed its engine leaves nothing to look at.
				if err := e.Verify(context.Background()); err != nil && !errors.Is(err, session.ErrClosed) {
					t.Errorf("the store does not pass its own check afterwards: %v", err)
				}
			})
		}
	}
}

// KeepSent is how long the engine under test must keep settled messages.
const KeepSent = 48 * time.Hour

type testCase struct {
	name string
	run  func(t *testing.T, e Engine)
}

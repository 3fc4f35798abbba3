package postgres

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"threshline/session"
	"threshline/session/store/record"
)

const outgoingColumns = "state, lease, created, changed, value, erased is not null"

func scanOutgoing(r pgx.Rows, more ...any) (o session.Outgoing, err error) {
	var state string
	var lease, created, changed int64
	var value []byte
	var erase bool
	if err := r.Scan(append([]any{&state, &lease, &created, &changed, &value, &erase}, more...)...); err != nil {
		return o, err
	}
	if err := record.Decode(value, &o, record.Outgoing); err != nil {
		return o, fmt.Errorf("postgres: outgoing message: %w", err)
	}
	// These change without the record.
	o.State, o.Lease, o.Created, o.Changed = session.OutgoingState(state), uint64(lease), moment(created), moment(changed)
	o.Erase = o.Erase || erase
	return o, nil
}

func (s *Store) outgoing(ctx context.Context, doing, sql string, args ...any) (list []session.Outgoing, err error) {
	err = s.query(ctx, doing, sql, args, func(r pgx.Rows) error {
		o, err := scanOutgoing(r)
		list = append(list, o)
		return err
	})
	return list, err
}

// Claim leases up to n messages that are due, in due order: nobody else is
// given them until the lease is over. Due is by the database's clock, which all
// gateways share, unless Options.CallersClock has it by now. Messages that
// would come too late are marked Expired on the way. The number of the claim is
// in Lease.
func (s *Store) Claim(ctx context.Context, now time.Time, n int, lease time.Duration) ([]session.Outgoing, error) {
	if n <= 0 {
		return nil, s.open(ctx)
	}
	at := int64(none)
	if s.options.CallersClock {
		at = column(now)
	}
	var list []session.Outgoing
	err := s.query(ctx, "claim", "select "+outgoingColumns+", leased from claim($1, $2, $3)", []any{at, limit(n), int64(lease)}, func(r pgx.Rows) error {
		var leased int64
		o, err := scanOutgoing(r, &leased)
		o.Claimed = moment(leased).Add(-lease)
		list = append(list, o)
		return err
	})
	slices.SortFunc(list, func(a, b session.Outgoing) int {
		return cmp.Or(a.Due.Compare(b.Due), cmp.Compare(a.ID, b.ID))
	})
	return list, err
}

// Settle stores what became of a claimed message: its new state, or Queued
// again with a new Due. It returns session.ErrNotFound when there is no such
// message and ErrConflict when the claim is no longer the last one, or the
// message was settled meanwhile.
func (s *Store) Settle(ctx context.Context, o session.Outgoing) error {
	if err := within("a carrier's id", o.Channel, o.CarrierID, string(o.ID)); err != nil {
		return err
	}
	outcome, err := s.settle(ctx, o)
	for tries := 0; err == nil && outcome == textChanged && tries < maxRuns; tries++ {
		var kept session.Outgoing
		if err = s.query(ctx, "read what is settled", "select "+outgoingColumns+" from outgoing where id = $1", []any{o.ID}, func(r pgx.Rows) (err error) {
			kept, err = scanOutgoing(r)
			return err
		}); err == nil {
			o.Text = kept.Text
			outcome, err = s.settle(ctx, o)
		}
	}
	switch {
	case err != nil:
		return err
	case outcome == changedMeanwhile, outcome == textChanged:
		return conflict("outgoing message")
	case outcome == reminderGone:
		return fmt.Errorf("postgres: outgoing message %q: %w", string(o.ID), session.ErrNotFound)
	}
	return nil
}

// settle is one try; textChanged asks for another with the text that is stored.
func (s *Store) settle(ctx context.Context, o session.Outgoing) (outcome int, err error) {
	erased := o
	erased.To, erased.Text, erased.Erase = "", "", true // stored if the person was forgotten meanwhile
	err = s.query(ctx, "settle", "select settle($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)", []any{
		o.ID, int64(o.Lease), string(o.State), o.Channel, o.CarrierID, column(o.Due), column(o.Expires),
		column(o.Changed), int64(o.Segments), encode(&o, record.Outgoing), encode(&erased, record.Outgoing), o.Text,
	}, func(r pgx.Rows) error { return r.Scan(&outcome) })
	return outcome, err
}

// Receipt sets the state of the message that the channel's carrier knows by
// carrierID: Delivered, which is final, or Failed. It may come twice, in any
// order, and before the message was settled: it then waits for it.
func (s *Store) Receipt(ctx context.Context, channel, carrierID string, state session.OutgoingState, at time.Time) error {
	if state != session.Delivered && state != session.Failed {
		return fmt.Errorf("%w: a receipt of state %q", ErrInvalid, string(state))
	}
	if carrierID == "" {
		return fmt.Errorf("%w: a receipt without an id", ErrInvalid)
	}
	if err := within("a receipt's id", channel, carrierID); err != nil {
		return err
	}
	return s.query(ctx, "receipt", "select receive($1, $2, $3, $4)", []any{channel, carrierID, string(state), column(at)}, func(pgx.Rows) error { return nil })
}

// Sent lists messages, newest first, that come after the given one in that
// order; a zero message starts at the newest.
func (s *Store) Sent(ctx context.Context, after session.Outgoing, n int) ([]session.Outgoing, error) {
	if after.ID == "" {
		return s.outgoing(ctx, "sent", "select "+outgoingColumns+" from outgoing order by created desc, id desc limit $1", limit(n))
	}
	return s.outgoing(ctx, "sent", "select "+outgoingColumns+" from outgoing where (created, id) < ($1, $2) order by created desc, id desc limit $3",
		column(after.Created), after.ID, limit(n))
}

// Counts says how many messages are kept in each state.
func (s *Store) Counts(ctx context.Context) (map[session.OutgoingState]int, error) {
	counts := make(map[session.OutgoingState]int)
	err := s.query(ctx, "counts", "select state, count(*) from outgoing group by state", nil, func(r pgx.Rows) error {
		var state string
		var n int
		err := r.Scan(&state, &n)
		counts[session.OutgoingState(state)] = n
		return err
	})
	return counts, err
}

// QueueAge is how long the first message of the queue has been due at now; 0
// when nothing is due.
func (s *Store) QueueAge(ctx context.Context, now time.Time) (age time.Duration, err error) {
	err = s.query(ctx, "queue", "select at from queue order by at limit 1", nil, func(r pgx.Rows) error {
		var at int64
		err := r.Scan(&at)
		age = max(0, now.Sub(moment(at)))
		return err
	})
	return age, err
}

// Due lists up to n reminders that are due at now, the longest due first. It
// changes nothing: an exchange fires one by returning it with Cancel set.
func (s *Store) Due(ctx context.Context, now time.Time, n int) (list []session.Reminder, err error) {
	err = s.query(ctx, "due", "select due, value from remindings where due <= $1 order by due, id limit $2", []any{column(now), limit(n)}, func(r pgx.Rows) error {
		var due session.Reminder
		_, err := versioned(r, &due, record.Reminder)
		list = append(list, due)
		return err
	})
	return list, err
}

// keepEarly is how long a receipt waits for its message (assumed).
const keepEarly = 7 * 24 * time.Hour

// Sweep takes away up to n things that are over at now: dialogues that expired,
// duplicate keys past their time, messages settled longer ago than the store
// keeps them, receipts that never found their message, invitations that are no
// longer valid. It returns how many it looked at: fewer than n when nothing
// more waits. A dialogue or duplicate key is valid until it is swept.
func (s *Store) Sweep(ctx context.Context, now time.Time, n int) (swept int, err error) {
	rest := s.forgetRest(ctx)
	if errors.Is(rest, session.ErrBusy) {
		rest = nil // the next sweep looks again
	}
	err = s.query(ctx, "sweep", sweepSQL, []any{column(now), limit(n), int64(s.options.KeepSent), int64(keepEarly)}, func(r pgx.Rows) error {
		return r.Scan(&swept)
	})
	return swept, errors.Join(err, rest)
}

// sweepSQL sweeps, and notes by which time.
const sweepSQL = `with noted as (update about set swept = $1 where swept < $1)
	select sweep($1, $2, $3, $4)`

// Now is the time by the database's clock.
func (s *Store) Now(ctx context.Context) (now time.Time, err error) {
	err = s.query(ctx, "look at the clock", "select clock()", nil, func(r pgx.Rows) error {
		var n int64
		err := r.Scan(&n)
		now = moment(n)
		return err
	})
	return now, err
}

// LastCommit is when a gateway swept last, which each does every minute; zero when
// none did.
func (s *Store) LastCommit(ctx context.Context) (at time.Time, err error) {
	err = s.query(ctx, "look up the last sweep", "select swept from about", nil, func(r pgx.Rows) error {
		var n int64
		err := r.Scan(&n)
		at = moment(n)
		return err
	})
	return at, err
}

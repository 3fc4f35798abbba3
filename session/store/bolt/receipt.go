package bolt

import (
	"context"
	"fmt"
	"time"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/record"
)

// keepEarly is how long a receipt waits for its message: carriers repeat and
// delay receipts for days, not weeks (assumed).
const keepEarly = 7 * 24 * time.Hour

// Receipt sets the state of the message that the channel's carrier knows by
// carrierID: Delivered, which is final, or Failed. It may come twice, in any
// order, and before the message was settled: it then waits for it, also
// through a restart.
func (s *Store) Receipt(ctx context.Context, channel, carrierID string, state session.OutgoingState, at time.Time) error {
	if state != session.Delivered && state != session.Failed {
		return fmt.Errorf("%w: a receipt of state %q", ErrInvalid, string(state))
	}
	if err := fits("a receipt's id", carrierID); err != nil {
		return err
	}
	if err := within("a channel", channel); err != nil {
		return err
	}
	return s.submit(ctx, &delivery{channel: channel, carrierID: carrierID, state: state, at: at})
}

// receive applies a receipt to a message and reports whether it changed it.
func receive(o *session.Outgoing, carrierID string, state session.OutgoingState, at time.Time) bool {
	switch {
	case o.State == session.Delivered || o.State == state:
		return false
	case state == session.Failed && (o.State != session.HandedOn || o.CarrierID != carrierID):
		return false // of an attempt that was given up on
	}
	o.Received(state, at)
	return true
}

// receipt is a delivery receipt that came before its message was settled.
type receipt struct {
	state session.OutgoingState
	at    uint64
}

func receiptFields(c *record.Coder, r *receipt) {
	record.Text(c, 1, &r.state)
	r.at = c.Fixed(2, r.at)
}

// delivery is the work of one receipt.
type delivery struct {
	channel, carrierID string
	state              session.OutgoingState
	at                 time.Time
	message            *storedOutgoing // nil when it is not known yet
}

func (w *delivery) check(tx *bbolt.Tx) error {
	w.message = nil
	id := in(tx, carrierBucket).Get(carrierKey(w.channel, w.carrierID))
	if id == nil {
		return nil
	}
	o, err := readOutgoing(tx, id)
	if isNotFound(err) {
		return nil
	}
	w.message = &o
	return err
}

func (w *delivery) write(tx *bbolt.Tx) error {
	p := &putter{tx: tx}
	if w.message == nil {
		return w.keep(p)
	}
	place := w.message.place()
	if !receive(&w.message.Outgoing, w.carrierID, w.state, w.at) {
		return nil
	}
	p.delete(queueBucket, place)
	w.message.Settled()
	p.put(outgoingBucket, []byte(w.message.ID), encodeOutgoing(0, &w.message.Outgoing))
	return p.err
}

// keep stores a receipt that has no message yet; Delivered outlives Failed.
func (w *delivery) keep(p *putter) error {
	k := carrierKey(w.channel, w.carrierID)
	if v := in(p.tx, earlyBucket).Get(k); v != nil {
		var before receipt
		if err := record.Decode(v, &before, receiptFields); err != nil {
			return err
		}
		if before.state == session.Delivered {
			return nil
		}
	}
	p.put(earlyBucket, k, record.Encode(nil, &receipt{w.state, record.Instant(w.at)}, receiptFields))
	p.put(expiryBucket, expiryKey(record.Instant(w.at.Add(keepEarly)), earlyExpiry, k), nil)
	return p.err
}

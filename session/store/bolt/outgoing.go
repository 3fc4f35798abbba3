package bolt

import (
	"cmp"
	"context"
	"encoding/binary"
	"fmt"
	"slices"
	"time"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/record"
)

// storedOutgoing is a message with the end of its lease, 0 when nobody holds it.
type storedOutgoing struct {
	session.Outgoing
	leased uint64
}

func encodeOutgoing(leased uint64, o *session.Outgoing) []byte {
	return record.Encode(binary.BigEndian.AppendUint64(make([]byte, 0, 256), leased), o, record.Outgoing)
}

func readOutgoing(tx *bbolt.Tx, id []byte) (storedOutgoing, error) {
	return outgoingAt(id, in(tx, outgoingBucket).Get(id))
}

func outgoingAt(id, v []byte) (o storedOutgoing, err error) {
	if o.leased, err = record.Versioned(v, &o.Outgoing, record.Outgoing); err != nil {
		return o, fmt.Errorf("bolt: outgoing message %q: %w", id, err)
	}
	return o, nil
}

// place is where a message waits in the queue.
func (o *storedOutgoing) place() []byte {
	if o.leased != 0 {
		return timed(o.leased, string(o.ID))
	}
	return timed(record.Instant(o.Due), string(o.ID))
}

// Claim leases up to n messages that are due at now, in due order: nobody else
// is given them until now+lease. Messages that would come too late are marked
// Expired on the way. The number of the claim is in Lease.
func (s *Store) Claim(ctx context.Context, now time.Time, n int, lease time.Duration) ([]session.Outgoing, error) {
	due := false
	err := s.snapshot(func(tx *bbolt.Tx) error {
		k, _ := in(tx, queueBucket).Cursor().First()
		due = k != nil && binary.BigEndian.Uint64(k) <= record.Instant(now)
		return nil
	})
	if err != nil || !due || n <= 0 {
		return nil, err
	}
	w := &claim{now: now, n: n, lease: lease}
	if err := s.submit(ctx, w); err != nil {
		return nil, err
	}
	return w.claimed, nil
}

type claim struct {
	now     time.Time
	n       int
	lease   time.Duration
	found   []storedOutgoing
	claimed []session.Outgoing
}

// maxLate bounds how many late messages one claim marks.
const maxLate = 1000

func (w *claim) late(o *session.Outgoing) bool { return !o.Expires.IsZero() && !o.Expires.After(w.now) }

func (w *claim) check(tx *bbolt.Tx) error {
	w.found, w.claimed = nil, nil
	now, live := record.Instant(w.now), 0
	c := in(tx, queueBucket).Cursor()
	for k, _ := c.First(); k != nil && live < w.n && len(w.found) < w.n+maxLate; k, _ = c.Next() {
		at, id := splitTimed(k)
		if at > now {
			break
		}
		o, err := readOutgoing(tx, id)
		if err != nil {
			return err
		}
		w.found = append(w.found, o)
		if !w.late(&o.Outgoing) {
			live++
		}
	}
	return nil
}

func (w *claim) write(tx *bbolt.Tx) error {
	p := &putter{tx: tx}
	for i := range w.found {
		o := &w.found[i]
		p.delete(queueBucket, o.place())
		if w.late(&o.Outgoing) {
			o.State, o.Changed, o.leased = session.Expired, w.now, 0
			o.Settled()
		} else {
			o.Lease++
			o.leased = record.Instant(w.now.Add(w.lease))
			p.put(queueBucket, o.place(), nil)
			w.claimed = append(w.claimed, o.Outgoing)
			w.claimed[len(w.claimed)-1].Claimed = w.now
		}
		p.put(outgoingBucket, []byte(o.ID), encodeOutgoing(o.leased, &o.Outgoing))
	}
	slices.SortFunc(w.claimed, func(a, b session.Outgoing) int {
		return cmp.Or(a.Due.Compare(b.Due), cmp.Compare(a.ID, b.ID))
	})
	return p.err
}

// Settle stores what became of a claimed message: its new state, or Queued
// again with a new Due. It returns session.ErrNotFound when there is no such
// message and ErrConflict when the claim is no longer the last one, or the
// message was settled meanwhile: then nothing is stored, and somebody else
// has seen to it.
func (s *Store) Settle(ctx context.Context, o session.Outgoing) error {
	return s.submit(ctx, &settle{new: o})
}

type settle struct {
	new   session.Outgoing
	old   storedOutgoing
	early *receipt
}

func (w *settle) check(tx *bbolt.Tx) (err error) {
	if w.old, err = readOutgoing(tx, []byte(w.new.ID)); err != nil {
		return err
	}
	if w.old.State != session.Queued || w.old.leased == 0 || w.old.Lease != w.new.Lease {
		return conflict("outgoing message")
	}
	if err := within("a carrier's id", w.new.Channel, w.new.CarrierID); err != nil {
		return err
	}
	w.early = nil
	if v := in(tx, earlyBucket).Get(carrierKey(w.new.Channel, w.new.CarrierID)); v != nil && w.new.CarrierID != "" {
		w.early = new(receipt)
		return record.Decode(v, w.early, receiptFields)
	}
	return nil
}

func (w *settle) write(tx *bbolt.Tx) error {
	p := &putter{tx: tx}
	p.delete(queueBucket, w.old.place())
	o := w.new
	o.Created, o.Text, o.Erase = w.old.Created, w.old.Text, w.old.Erase // somebody may have been taken out of the text
	if o.CarrierID != "" {
		k := carrierKey(o.Channel, o.CarrierID)
		p.put(carrierBucket, k, []byte(o.ID))
		if w.early != nil {
			p.delete(earlyBucket, k)
			receive(&o, o.CarrierID, w.early.state, record.Moment(w.early.at))
		}
	}
	o.Settled()
	if o.State == session.Queued { // again, released
		p.put(queueBucket, timed(record.Instant(o.Due), string(o.ID)), nil)
	}
	p.put(outgoingBucket, []byte(o.ID), encodeOutgoing(0, &o))
	return p.err
}

// Sent lists messages, newest first, that come after the given one in that
// order; a zero message starts at the newest.
func (s *Store) Sent(ctx context.Context, after session.Outgoing, n int) ([]session.Outgoing, error) {
	var list []session.Outgoing
	err := s.read(ctx, func(tx *bbolt.Tx) error {
		c := in(tx, sentBucket).Cursor()
		k, _ := c.Last()
		if after.ID != "" {
			k, _ = seekBefore(c, timed(record.Instant(after.Created), string(after.ID)))
		}
		for ; k != nil && len(list) < n; k, _ = c.Prev() {
			_, id := splitTimed(k)
			o, err := readOutgoing(tx, id)
			if err != nil {
				return err
			}
			list = append(list, o.Outgoing)
		}
		return nil
	})
	return list, err
}

// Counts says how many messages are kept in each state.
func (s *Store) Counts(ctx context.Context) (map[session.OutgoingState]int, error) {
	counts := make(map[session.OutgoingState]int)
	err := s.read(ctx, func(tx *bbolt.Tx) error {
		return in(tx, outgoingBucket).ForEach(func(id, v []byte) error {
			o, err := outgoingAt(id, v)
			counts[o.State]++
			return err
		})
	})
	return counts, err
}

// QueueAge is how long the first message of the queue has been due at now; 0
// when nothing is due.
func (s *Store) QueueAge(ctx context.Context, now time.Time) (time.Duration, error) {
	var age time.Duration
	err := s.read(ctx, func(tx *bbolt.Tx) error {
		if k, _ := in(tx, queueBucket).Cursor().First(); k != nil {
			at, _ := splitTimed(k)
			age = max(0, now.Sub(record.Moment(at)))
		}
		return nil
	})
	return age, err
}

// SetBack puts right what waits because of a clock that was ahead and is set back to
// now: see session.Outgoing.SetBack. Messages keep their order; a claim holds no longer
// than until now+lease.
func (s *Store) SetBack(ctx context.Context, now time.Time, lease time.Duration) error {
	w := &setBack{now: now, keep: s.options.KeepSent, lease: record.Instant(now.Add(lease))}
	var found []storedOutgoing
	err := s.snapshot(func(tx *bbolt.Tx) (err error) {
		found, err = w.ahead(tx)
		return err
	})
	if err != nil || len(found) == 0 {
		return err
	}
	return s.submit(ctx, w)
}

type setBack struct {
	now   time.Time
	keep  time.Duration // see Options.KeepSent
	lease uint64        // the latest end of one
	found []storedOutgoing
}

// ahead lists what has to be put right, in the order of the queue.
func (w *setBack) ahead(tx *bbolt.Tx) (found []storedOutgoing, err error) {
	c := in(tx, queueBucket).Cursor()
	for k, _ := c.Seek(timed(record.Instant(w.now), "")); k != nil; k, _ = c.Next() {
		_, id := splitTimed(k)
		o, err := readOutgoing(tx, id)
		if err != nil {
			return nil, err
		}
		if right := o.Outgoing; o.leased > w.lease || right.SetBack(w.now) {
			found = append(found, o)
		}
	}
	return found, nil
}

func (w *setBack) check(tx *bbolt.Tx) (err error) {
	w.found, err = w.ahead(tx)
	return err
}

func (w *setBack) write(tx *bbolt.Tx) error {
	p := &putter{tx: tx}
	for i := range w.found {
		o := &w.found[i]
		p.delete(queueBucket, o.place())
		o.leased = min(o.leased, w.lease)
		p.delete(sentBucket, timed(record.Instant(o.Created), string(o.ID)))
		p.delete(expiryBucket, expiryKey(record.Later(o.Created, w.keep), outgoingExpiry, []byte(o.ID)))
		o.SetBack(w.now.Add(time.Duration(i - len(w.found))))
		p.putOutgoing(o, encodeOutgoing(o.leased, &o.Outgoing), w.keep)
	}
	return p.err
}

package mem

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"threshline/session"
)

// keepEarly is how long a receipt waits for its message (assumed).
const keepEarly = 7 * 24 * time.Hour

// sent is a message, and until when somebody holds it; zero when nobody does.
type sent struct {
	session.Outgoing
	leased time.Time
}

// carrierID is a carrier's own id of a message.
type carrierID struct{ channel, id string }

// receipt is a delivery receipt that has no message yet.
type receipt struct {
	state session.OutgoingState
	at    time.Time
}

// waitsFor is when the message may be claimed.
func (o *sent) waitsFor() time.Time {
	if !o.leased.IsZero() {
		return o.leased
	}
	return o.Due
}

// keepSent puts a message in place of what was kept of it.
func (s *Store) keepSent(o sent) {
	s.outgoing[o.ID] = o
	if delete(s.queue, o.ID); o.State == session.Queued {
		s.queue[o.ID] = true
	}
}

// queued lists the waiting messages of which which says so, in the order of the queue.
func (s *Store) queued(which func(*sent) bool) (list []sent) {
	for id := range s.queue {
		if o := s.outgoing[id]; which(&o) {
			list = append(list, o)
		}
	}
	slices.SortFunc(list, func(a, b sent) int {
		return cmp.Or(a.waitsFor().Compare(b.waitsFor()), cmp.Compare(a.ID, b.ID))
	})
	return list
}

// Claim leases up to n messages that are due at now, in due order: nobody else
// is given them until now+lease. With Options.Clock that clock counts, not now.
// Messages that would come too late are marked Expired on the way. The number of the
// claim is in Lease.
func (s *Store) Claim(ctx context.Context, now time.Time, n int, lease time.Duration) ([]session.Outgoing, error) {
	if err := s.lock(ctx); err != nil {
		return nil, err
	}
	defer s.mu.Unlock()
	if s.shared {
		now = s.clock()
	}
	due := s.queued(func(o *sent) bool { return !o.waitsFor().After(now) })
	var claimed []session.Outgoing
	for _, o := range due {
		if len(claimed) >= n {
			break
		}
		if !o.Expires.IsZero() && !o.Expires.After(now) {
			o.State, o.Changed, o.leased = session.Expired, now, time.Time{}
			o.Settled()
		} else {
			o.Lease++
			o.leased = now.Add(lease)
			claimed = append(claimed, o.Outgoing)
			claimed[len(claimed)-1].Claimed = now
		}
		s.keepSent(o)
	}
	slices.SortFunc(claimed, func(a, b session.Outgoing) int {
		return cmp.Or(a.Due.Compare(b.Due), cmp.Compare(a.ID, b.ID))
	})
	return claimed, nil
}

// Settle stores what became of a claimed message: its new state, or Queued
// again with a new Due. It returns session.ErrNotFound when there is no such
// message and ErrConflict when the claim is no longer the last one, or the
// message was settled meanwhile.
func (s *Store) Settle(ctx context.Context, o session.Outgoing) error {
	if err := s.lock(ctx); err != nil {
		return err
	}
	defer s.mu.Unlock()
	old, ok := s.outgoing[o.ID]
	switch {
	case !ok:
		return fmt.Errorf("mem: outgoing message %q: %w", string(o.ID), session.ErrNotFound)
	case old.State != session.Queued || old.leased.IsZero() || old.Lease != o.Lease:
		return conflict("outgoing message")
	}
	o.Created, o.Text, o.Erase, o.Claimed = old.Created, old.Text, old.Erase, time.Time{} // somebody may have been taken out of the text
	if o.CarrierID != "" {
		k := carrierID{o.Channel, o.CarrierID}
		s.carriers[k] = o.ID
		if r, ok := s.early[k]; ok {
			delete(s.early, k)
			receive(&o, o.CarrierID, r)
		}
	}
	o.Settled()
	s.keepSent(sent{Outgoing: o})
	return nil
}

// Receipt sets the state of the message that the channel's carrier knows by
// id: Delivered, which is final, or Failed. It may come twice, in any order,
// and before the message was settled: it then waits for it.
func (s *Store) Receipt(ctx context.Context, channel, id string, state session.OutgoingState, at time.Time) error {
	if state != session.Delivered && state != session.Failed {
		return fmt.Errorf("%w: a receipt of state %q", ErrInvalid, string(state))
	}
	if id == "" {
		return fmt.Errorf("%w: a receipt without an id", ErrInvalid)
	}
	if err := s.lock(ctx); err != nil {
		return err
	}
	defer s.mu.Unlock()
	k := carrierID{channel, id}
	o, known := s.outgoing[s.carriers[k]]
	if !known {
		if s.early[k].state != session.Delivered {
			s.early[k] = receipt{state, at}
		}
		return nil
	}
	if receive(&o.Outgoing, id, receipt{state, at}) {
		o.leased = time.Time{}
		s.keepSent(o)
	}
	return nil
}

// receive applies a receipt to a message and reports whether it changed it.
func receive(o *session.Outgoing, id string, r receipt) bool {
	switch {
	case o.State == session.Delivered || o.State == r.state:
		return false
	case r.state == session.Failed && (o.State != session.HandedOn || o.CarrierID != id):
		return false // of an attempt that was given up on
	}
	o.Received(r.state, r.at)
	return true
}

// Counts says how many messages are kept in each state.
func (s *Store) Counts(ctx context.Context) (map[session.OutgoingState]int, error) {
	if err := s.lock(ctx); err != nil {
		return nil, err
	}
	defer s.mu.Unlock()
	counts := make(map[session.OutgoingState]int)
	for _, o := range s.outgoing {
		counts[o.State]++
	}
	return counts, nil
}

// QueueAge is how long the first message of the queue has been due at now; 0
// when nothing is due.
func (s *Store) QueueAge(ctx context.Context, now time.Time) (time.Duration, error) {
	if err := s.lock(ctx); err != nil {
		return 0, err
	}
	defer s.mu.Unlock()
	var age time.Duration
	for id := range s.queue {
		o := s.outgoing[id]
		age = max(age, now.Sub(o.waitsFor()))
	}
	return age, nil
}

// SetBack puts right what waits because of a clock that was ahead and is set back to
// now: see session.Outgoing.SetBack. Messages keep their order; a claim holds no longer
// than until now+lease.
func (s *Store) SetBack(ctx context.Context, now time.Time, lease time.Duration) error {
	if err := s.lock(ctx); err != nil {
		return err
	}
	defer s.mu.Unlock()
	if s.shared {
		now = s.clock()
	}
	far := s.queued(func(o *sent) bool { return o.waitsFor().After(now) })
	for i, o := range far {
		if until := now.Add(lease); o.leased.After(until) {
			o.leased = until
		}
		o.SetBack(now.Add(time.Duration(i - len(far))))
		s.keepSent(o)
	}
	return nil
}

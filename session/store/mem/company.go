package mem

import (
	"context"
	"time"

	"threshline/session"
)

// work is what one gateway does for all, and who does it.
type work struct {
	fence  uint64
	until  time.Time // when the lease is over; zero when nobody holds it
	done   time.Time // when it was last finished
	result []byte
}

// aMinute: a time that is later than it can be by more than that is of a clock that
// was ahead, and is set back.
const aMinute = time.Minute

// Begin takes a lease on work that is to be done every so often, by one gateway
// for all; one that is not held when it is not due, or another's. After within
// the lease is over, and whoever asks next takes the work over.
func (s *Store) Begin(ctx context.Context, name string, every, within time.Duration) (session.Lease, error) {
	l := session.Lease{Work: name}
	if err := s.lock(ctx); err != nil {
		return l, err
	}
	defer s.mu.Unlock()
	w, now := s.works[name], s.clock()
	held := w.until.After(now) && !w.until.After(now.Add(within+aMinute))
	if held || !w.done.IsZero() && w.done.Add(every).After(now) && !w.done.After(now.Add(aMinute)) {
		return l, nil
	}
	w.fence++
	w.until = now.Add(within)
	s.works[name] = w
	l.Fence = w.fence
	return l, nil
}

// End says that the work is done, with what it came to for all gateways, or that
// another gateway should do it. It returns session.ErrConflict when another has
// taken it over: then throw away what was made.
func (s *Store) End(ctx context.Context, l session.Lease, done bool, result []byte) error {
	if err := s.lock(ctx); err != nil {
		return err
	}
	defer s.mu.Unlock()
	w := s.works[l.Work]
	if w.fence != l.Fence || w.until.IsZero() {
		return conflict("the lease on " + l.Work)
	}
	if w.until = (time.Time{}); done {
		w.done, w.result = s.clock(), result
	}
	s.works[l.Work] = w
	return nil
}

// Result is what work came to when it was last finished, by any gateway; nil when
// it never was.
func (s *Store) Result(ctx context.Context, name string) ([]byte, error) {
	if err := s.lock(ctx); err != nil {
		return nil, err
	}
	defer s.mu.Unlock()
	return s.works[name].result, nil
}

// purse is a part of a channel's day.
type purse struct {
	channel, part string
	day           time.Time
}

// spending is what all gateways have sent of a purse, in segments, and whether a
// message was too much for it.
type spending struct {
	segments int
	refused  bool
}

// known is the largest part of a day: what was sent before a channel's money was
// first counted is put to it, since what it was for is not known here.
const known = "known"

// Spend takes segments out of a part of a channel's day, for all gateways together:
// see dispatch.Purse.
func (s *Store) Spend(ctx context.Context, channel, part string, day time.Time, segments, most int, must bool) (spent int, taken, first bool, err error) {
	if err := s.lock(ctx); err != nil {
		return 0, false, false, err
	}
	defer s.mu.Unlock()
	p := purse{channel, part, day.UTC()}
	now, begun := s.spent[p]
	if !begun && part == known && !s.counted(channel) {
		for _, o := range s.outgoing {
			handed := o.State == session.HandedOn || o.State == session.Delivered || o.State == session.Failed
			if handed && o.Channel == channel && !o.Changed.Before(day) {
				now.segments += o.Segments
			}
		}
	}
	if taken = must || most < 0 || now.segments+segments <= most; taken {
		now.segments = max(0, now.segments+segments)
	}
	if !taken || most >= 0 && now.segments > most {
		first, now.refused = !now.refused, true
	}
	s.spent[p] = now
	return now.segments, taken, first, nil
}

// counted reports whether a channel's money was, on any day.
func (s *Store) counted(channel string) bool {
	for p := range s.spent {
		if p.channel == channel {
			return true
		}
	}
	return false
}

// Now is the time by the clock that gateways share.
func (s *Store) Now(context.Context) (time.Time, error) { return s.clock(), nil }

// LastCommit is when a gateway swept last, which each does every minute; zero when
// none did.
func (s *Store) LastCommit(ctx context.Context) (time.Time, error) {
	if err := s.lock(ctx); err != nil {
		return time.Time{}, err
	}
	defer s.mu.Unlock()
	return s.swept, nil
}

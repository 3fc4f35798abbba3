package mem

import (
	"cmp"
	"context"
	"slices"
	"time"

	"threshline/session"
)

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
	var far []sent
	for _, o := range s.outgoing {
		if o.State == session.Queued && o.waitsFor().After(now) {
			far = append(far, o)
		}
	}
	slices.SortFunc(far, func(a, b sent) int {
		return cmp.Or(a.waitsFor().Compare(b.waitsFor()), cmp.Compare(a.ID, b.ID))
	})
	for i, o := range far {
		if until := now.Add(lease); o.leased.After(until) {
			o.leased = until
		}
		o.SetBack(now.Add(time.Duration(i - len(far))))
		s.outgoing[o.ID] = o
	}
	return nil
}

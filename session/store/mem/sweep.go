package mem

import (
	"context"
	"time"

	"github.com/google/btree"

	"threshline/session"
)

// Sweep takes away up to n things that are over at now: dialogues that expired,
// duplicate keys past their time, messages settled longer ago than the store
// keeps them, receipts that never found their message, invitations that are no
// longer valid. It returns how many: fewer than n when nothing more waits. A
// dialogue or duplicate key is valid until it is swept.
func (s *Store) Sweep(ctx context.Context, now time.Time, n int) (int, error) {
	if err := s.lock(ctx); err != nil {
		return 0, err
	}
	defer s.mu.Unlock()
	if now.After(s.swept) {
		s.swept = now
	}
	over := func(t time.Time) bool { return !t.After(now) }
	swept := sweepTree(s.state.dialogues, n, func(d session.Dialogue) bool { return !d.Expires.IsZero() && over(d.Expires) })
	swept += sweepTree(s.state.duplicates, n-swept, func(d duplicate) bool { return over(d.until) })
	swept += sweepTree(s.state.invites, n-swept, func(i session.Invite) bool { return !i.Expires.IsZero() && over(i.Expires) })
	for id, o := range s.outgoing {
		if swept < n && o.State != session.Queued && over(o.Changed.Add(s.keep)) {
			delete(s.outgoing, id)
			delete(s.carriers, carrierID{o.Channel, o.CarrierID})
			swept++
		}
	}
	for k, r := range s.early {
		if swept < n && over(r.at.Add(keepEarly)) {
			delete(s.early, k)
			swept++
		}
	}
	return swept, nil
}

// sweepTree takes up to n items that are over out of a tree.
func sweepTree[T any](tree *btree.BTreeG[T], n int, over func(T) bool) int {
	var gone []T
	tree.Ascend(func(item T) bool {
		if len(gone) >= n {
			return false
		}
		if over(item) {
			gone = append(gone, item)
		}
		return true
	})
	for _, item := range gone {
		tree.Delete(item)
	}
	return len(gone)
}

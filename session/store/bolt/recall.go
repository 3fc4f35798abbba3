package bolt

import (
	"go.etcd.io/bbolt"

	"threshline/session"
)

// write has a work write. What exchanges recall of what it changes is let go before:
// all, unless it is known what that is.
func (s *Store) write(w work, tx *bbolt.Tx) error {
	r, at := s.recall, snapshotOf(tx)
	x, ok := w.(*exchange)
	switch w.(type) {
	case nothing, *bare, *claim, *settle, *delivery, *sweep, *scrub, *unscrub: // no person and no check
		return w.write(tx)
	}
	if !ok || len(x.erasures) > 0 {
		r.WriteAny(at)
		return w.write(tx)
	}
	for i := range x.people {
		r.WritePerson(x.people[i].old, x.people[i].new, at)
	}
	for i := range x.checks {
		r.WriteCheck(x.checks[i].old, x.checks[i].new, at)
	}
	if err := w.write(tx); err != nil {
		return err
	}
	for i := range x.checks {
		c := &x.checks[i]
		if err := r.Wrote(c.new.Lot.Grower, func() (session.Check, error) { return checkAt(c.placed, c.value) }); err != nil {
			return err
		}
	}
	return nil
}

// snapshotOf is the number of the snapshot that a transaction reads, or makes.
func snapshotOf(tx *bbolt.Tx) uint64 { return uint64(tx.ID()) }

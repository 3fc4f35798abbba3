package bolt

import (
	"context"
	"time"

	"go.etcd.io/bbolt"

	"threshline/session/store/record"
)

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

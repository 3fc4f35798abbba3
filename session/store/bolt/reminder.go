package bolt

import (
	"context"
	"fmt"
	"time"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/record"
)

// Due lists up to n reminders that are due at now, the longest due first. It
// changes nothing: an exchange fires one by returning it with Cancel set.
func (s *Store) Due(ctx context.Context, now time.Time, n int) ([]session.Reminder, error) {
	var list []session.Reminder
	err := s.read(ctx, func(tx *bbolt.Tx) error {
		c := in(tx, remindBucket).Cursor()
		for k, _ := c.First(); k != nil && len(list) < n; k, _ = c.Next() {
			at, id := splitTimed(k)
			if at > record.Instant(now) {
				return nil
			}
			r, err := reminderAt(id, in(tx, reminderBucket).Get(id))
			if err != nil {
				return err
			}
			list = append(list, r)
		}
		return nil
	})
	return list, err
}

func reminderAt(id, v []byte) (r session.Reminder, err error) {
	if err = record.Decode(v, &r, record.Reminder); err != nil {
		err = fmt.Errorf("bolt: reminder %q: %w", id, err)
	}
	return r, err
}

// dropReminder takes a reminder out, if it is there.
func dropReminder(p *putter, id []byte) {
	v := in(p.tx, reminderBucket).Get(id)
	if v == nil || p.err != nil {
		return
	}
	var old session.Reminder
	if old, p.err = reminderAt(id, v); p.err != nil {
		return
	}
	p.delete(remindBucket, timed(record.Instant(old.Due), string(old.ID)))
	p.delete(reminderBucket, id)
}

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
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("bolt: %w", err)
	}
	var list []session.Reminder
	err := s.snapshot(func(tx *bbolt.Tx) error {
		c := in(tx, remindBucket).Cursor()
		for k, _ := c.First(); k != nil && len(list) < n; k, _ = c.Next() {
			at, id := splitTimed(k)
			if at > record.Instant(now) {
				return nil
			}
			var r session.Reminder
			if err := record.Decode(in(tx, reminderBucket).Get(id), &r, record.Reminder); err != nil {
				return fmt.Errorf("bolt: reminder %q: %w", id, err)
			}
			list = append(list, r)
		}
		return nil
	})
	return list, err
}

// dropReminder takes a reminder out, if it is there.
func dropReminder(p *putter, id []byte) {
	v := in(p.tx, reminderBucket).Get(id)
	if v == nil || p.err != nil {
		return
	}
	var old session.Reminder
	if p.err = record.Decode(v, &old, record.Reminder); p.err != nil {
		return
	}
	p.delete(remindBucket, timed(record.Instant(old.Due), string(old.ID)))
	p.delete(reminderBucket, id)
}

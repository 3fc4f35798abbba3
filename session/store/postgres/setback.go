package postgres

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"threshline/session"
	"threshline/session/store/record"
)

// SetBack puts right what waits because of a clock that was ahead and is set back to
// now: see session.Outgoing.SetBack. Messages keep their order; a claim holds no longer
// than until now+lease. Now is the database's, as for Claim.
func (s *Store) SetBack(ctx context.Context, now time.Time, lease time.Duration) error {
	type waiting struct {
		session.Outgoing
		leased int64
		value  []byte
	}
	var far []waiting
	at := column(now)
	if !s.options.CallersClock {
		at = none
	}
	// The clock is looked at with what waits: a gateway that stood still between the
	// two would take what others have claimed since for claimed by a clock ahead.
	const sql = `with here as materialized (select case when $1 = never() then clock() else $1 end as now)
		select ` + outgoingColumns + `, leased, value, now from here, outgoing join (select id as place, at from queue) q on id = place
		where at > now order by at, id`
	err := s.query(ctx, "list what waits", sql, []any{at}, func(r pgx.Rows) (err error) {
		var o waiting
		var at int64
		o.Outgoing, err = scanOutgoing(r, &o.leased, &o.value, &at)
		far, now = append(far, o), moment(at)
		return err
	})
	if err != nil {
		return err
	}
	for i, o := range far {
		leased, late := o.leased, false
		if until := column(now.Add(lease)); leased != none && leased > until {
			leased, late = until, true
		}
		if !o.SetBack(now.Add(time.Duration(i-len(far)))) && !late {
			continue
		}
		at := leased
		if leased == none {
			at = column(o.Due)
		}
		// What was claimed, settled or forgotten since is left alone.
		const put = `with held as (select id from queue where id = $1 for update), put as (
				update outgoing o set leased = $4, created = $10, changed = $5, value = $6 from held
				where o.id = held.id and o.state = 'queued' and o.lease = $7 and o.leased = $8 and o.value = $9 returning o.id)
			update queue q set at = $2, expires = $3 from put where q.id = put.id`
		err := s.query(ctx, "set back", put, []any{
			o.ID, at, column(o.Expires), leased, column(o.Changed), encode(&o.Outgoing, record.Outgoing), int64(o.Lease), o.leased, o.value, column(o.Created),
		}, func(pgx.Rows) error { return nil })
		if err != nil {
			return err
		}
	}
	return nil
}

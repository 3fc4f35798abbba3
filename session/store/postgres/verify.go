package postgres

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"threshline/session"
	"threshline/session/store/record"
)

func is(err, target error) bool { return errors.Is(err, target) }

// agreement finds rows whose neighbours in another table do not agree; what a
// single row must be the table's own constraints hold.
var agreement = map[string]string{
	"a message that waits is not in the queue":            "select id from outgoing o where state = 'queued' and not exists (select 1 from queue q where q.id = o.id) limit 1",
	"the queue holds a message that does not wait":        "select id from queue q where not exists (select 1 from outgoing o where o.id = q.id and o.state = 'queued') limit 1",
	"a leased message lies elsewhere in the queue":        "select o.id from outgoing o join queue q on q.id = o.id where o.leased <> never() and q.at <> o.leased limit 1",
	"a carrier's id leads to a message that is not there": "select id from carriers c where not exists (select 1 from outgoing o where o.id = c.message) limit 1",
	"a dialogue would never be swept":                     "select phone from dialogues where expires <> never() and (watched = never() or watched > expires) limit 1",
	"a position was given that was never counted":         "select slip from checks where position > (select last_value from check_position) limit 1",
	"a version was given that was never counted":          "select phone from dialogues where version > (select last_value from dialogue_version) limit 1",
}

// Verify reads the whole store and checks that every record can be read and
// that what lies beside it agrees. It can run while the store serves.
func (s *Store) Verify(ctx context.Context) error {
	if err := s.open(ctx); err != nil {
		return err
	}
	tx, err := s.pool.BeginTx(ctx, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly})
	if err != nil {
		return fault(ctx, "verify", err)
	}
	defer tx.Rollback(context.WithoutCancel(ctx)) //nolint:errcheck // it only reads
	if _, err := tx.Exec(ctx, "set local statement_timeout = 0"); err != nil {
		return fault(ctx, "verify", err)
	}
	for what, sql := range agreement {
		var id string
		switch err := tx.QueryRow(ctx, sql).Scan(&id); {
		case err == nil:
			return fmt.Errorf("postgres: %w: %s: %q", record.ErrDamaged, what, id)
		case !is(err, pgx.ErrNoRows):
			return fault(ctx, "verify", err)
		}
	}
	return fault(ctx, "verify", verifyRecords(ctx, tx))
}

// verifyRecords reads every record and holds its key to the row's.
func verifyRecords(ctx context.Context, tx pgx.Tx) error {
	return errors.Join(
		rows(ctx, tx, "select phone, '', '', expires, value from dialogues", record.Dialogue, func(d *session.Dialogue) row {
			return row{string(d.Phone), "", "", column(d.Expires)}
		}),
		rows(ctx, tx, "select id, coalesce(phone, ''), coalesce(agent, ''), short, value from people", record.Person, func(p *session.Person) row {
			return row{string(p.ID), string(p.Phone), string(p.Agent), int64(p.Short)}
		}),
		rows(ctx, tx, "select id, '', '', coalesce(named_in, 0), value from people", record.Person, func(p *session.Person) row {
			return row{id: string(p.ID), n: namedIn(p)}
		}),
		rows(ctx, tx, "select slip, grower, reporter, at, value from checks", record.Check, func(k *session.Check) row {
			return row{string(k.Slip), string(k.Lot.Grower), string(k.Reporter), column(k.At)}
		}),
		rows(ctx, tx, "select code, '', '', expires, value from invites", record.Invite, func(i *session.Invite) row {
			return row{i.Code, "", "", column(i.Expires)}
		}),
		rows(ctx, tx, "select id, '', '', 0::bigint, value from accounts", record.Account, func(a *session.Account) row { return row{id: string(a.ID)} }),
		rows(ctx, tx, "select id, channel, carrier, segments, value from outgoing", record.Outgoing, func(o *session.Outgoing) row {
			return row{string(o.ID), o.Channel, o.CarrierID, int64(o.Segments)}
		}),
		rows(ctx, tx, "select id, '', '', due, value from remindings", record.Reminder, func(r *session.Reminder) row {
			return row{string(r.ID), "", "", column(r.Due)}
		}),
		rows(ctx, tx, "select '', '', '', 0::bigint, value from notes", record.Note, func(*session.AuditNote) row { return row{} }),
		rows(ctx, tx, "select '', '', '', 0::bigint, reply from duplicates", record.Reply, func(*session.Reply) row { return row{} }),
	)
}

// row is what lies beside a record.
type row struct {
	id, a, b string
	n        int64
}

func rows[T any](ctx context.Context, tx pgx.Tx, sql string, fields func(*record.Coder, *T), of func(*T) row) error {
	return each(ctx, tx, sql, nil, func(r pgx.Rows) error {
		var beside row
		var value []byte
		if err := r.Scan(&beside.id, &beside.a, &beside.b, &beside.n, &value); err != nil {
			return err
		}
		v := new(T)
		if err := record.Decode(value, v, fields); err != nil {
			return fmt.Errorf("%T %q: %w", *v, beside.id, err)
		}
		if said := of(v); said != beside {
			return fmt.Errorf("%w: %T %q is not what lies beside it", record.ErrDamaged, *v, beside.id)
		}
		return nil
	})
}

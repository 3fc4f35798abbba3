package postgres

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"threshline/session"
	"threshline/session/store/record"
)

// Export hands over all that the store holds, as it is at one moment, while it
// goes on serving. A backup is made of it.
func (s *Store) Export(ctx context.Context, yield func(record.Thing) error) error {
	if err := s.open(ctx); err != nil {
		return err
	}
	s.report(s.forgetRest(ctx)) // or a copy would keep who is forgotten
	tx, err := s.pool.BeginTx(ctx, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly})
	if err != nil {
		return fault(ctx, "export", err)
	}
	defer tx.Rollback(context.WithoutCancel(ctx)) //nolint:errcheck // it only reads
	// A whole table is read in its own order, and however long that takes.
	if _, err := tx.Exec(ctx, "set local statement_timeout = 0; set local enable_seqscan = on", pgx.QueryExecModeSimpleProtocol); err != nil {
		return fault(ctx, "export", err)
	}
	return fault(ctx, "export", exporter{ctx, tx, yield}.all())
}

type exporter struct {
	ctx   context.Context
	tx    pgx.Tx
	yield func(record.Thing) error
}

func (e exporter) all() error {
	for _, part := range []func() error{e.counted, e.dialogues, e.answers, e.people, e.checks, e.rest, e.notes, e.outgoing, e.carriers} {
		if err := part(); err != nil {
			return err
		}
	}
	return nil
}

func (e exporter) counted() error {
	var c record.Counted
	var dialogues, checks, notes int64
	err := e.tx.QueryRow(e.ctx, `select secret, (select case when is_called then last_value else 0 end from dialogue_version),
		(select case when is_called then last_value else 0 end from check_position),
		coalesce((select max(number) from notes), 0), journal from about`).Scan(&c.Secret, &dialogues, &checks, &notes, &c.Journal)
	if err != nil {
		return err
	}
	c.Dialogues, c.Checks, c.Notes = uint64(dialogues), uint64(checks), uint64(notes)
	return e.yield(record.Thing{Counted: &c})
}

// handed hands over every record of a query that gives a version and a record.
func handed[T any](e exporter, sql string, fields func(*record.Coder, *T), thing func(version uint64, v *T) record.Thing) error {
	return each(e.ctx, e.tx, sql, nil, func(r pgx.Rows) error {
		out := new(T)
		version, err := versioned(r, out, fields)
		if err != nil {
			return err
		}
		return e.yield(thing(version, out))
	})
}

func (e exporter) dialogues() error {
	return handed(e, "select version, value from dialogues", record.Dialogue, func(version uint64, d *session.Dialogue) record.Thing {
		d.Version = version
		return record.Thing{Dialogue: d}
	})
}

func (e exporter) answers() error {
	return each(e.ctx, e.tx, "select key, until, reply from duplicates", nil, func(r pgx.Rows) error {
		a, until, value := &record.Answer{}, int64(0), []byte(nil)
		if err := r.Scan(&a.Key, &until, &value); err != nil {
			return err
		}
		a.Until = moment(until)
		if err := record.Decode(value, &a.Reply, record.Reply); err != nil {
			return err
		}
		return e.yield(record.Thing{Answer: a})
	})
}

func (e exporter) people() error {
	return handed(e, "select version, value from people", record.Person, func(version uint64, p *session.Person) record.Thing {
		p.Version = version
		return record.Thing{Person: p}
	})
}

func (e exporter) checks() error {
	return each(e.ctx, e.tx, checkSQL+"order by position", nil, func(r pgx.Rows) error {
		k, err := scanCheck(r)
		if err != nil {
			return err
		}
		return e.yield(record.Thing{Check: &k})
	})
}

func (e exporter) rest() error {
	err := handed(e, "select version, value from invites", record.Invite, func(version uint64, i *session.Invite) record.Thing {
		i.Version = version
		return record.Thing{Invite: i}
	})
	if err == nil {
		err = handed(e, "select version, value from accounts", record.Account, func(version uint64, a *session.Account) record.Thing {
			a.Version = version
			return record.Thing{Account: a}
		})
	}
	if err == nil {
		err = handed(e, "select 0::bigint, value from remindings", record.Reminder, func(_ uint64, r *session.Reminder) record.Thing {
			return record.Thing{Reminder: r}
		})
	}
	return err
}

func (e exporter) notes() error {
	return handed(e, "select number, value from notes order by number", record.Note, func(number uint64, n *session.AuditNote) record.Thing {
		return record.Thing{Note: &record.Numbered{Number: number, AuditNote: *n}}
	})
}

func (e exporter) outgoing() error {
	return each(e.ctx, e.tx, "select "+outgoingColumns+", leased from outgoing", nil, func(r pgx.Rows) error {
		var leased int64
		o, err := scanOutgoing(r, &leased)
		if err != nil {
			return err
		}
		return e.yield(record.Thing{Outgoing: &record.Message{Outgoing: o, Leased: moment(leased)}})
	})
}

func (e exporter) carriers() error {
	err := each(e.ctx, e.tx, "select channel, id, message from carriers", nil, func(r pgx.Rows) error {
		c := &record.Carrier{}
		if err := r.Scan(&c.Channel, &c.ID, &c.Message); err != nil {
			return err
		}
		return e.yield(record.Thing{Carrier: c})
	})
	if err != nil {
		return err
	}
	return each(e.ctx, e.tx, "select channel, id, state, at from early", nil, func(r pgx.Rows) error {
		c, at := &record.Receipt{}, int64(0)
		if err := r.Scan(&c.Channel, &c.ID, &c.State, &at); err != nil {
			return err
		}
		c.At = moment(at)
		return e.yield(record.Thing{Receipt: c})
	})
}

// tables are all that Import fills, with their columns.
var tables = map[string][]string{
	"dialogues":  {"phone", "version", "expires", "watched", "value"},
	"duplicates": {"key", "until", "reply"},
	"people":     {"id", "version", "phone", "agent", "short", "coordinator", "named_in", "place", "name", "value"},
	"checks":     {"slip", "version", "position", "grower", "reporter", "at", "value"},
	"invites":    {"code", "version", "expires", "maker", "person", "value"},
	"accounts":   {"id", "version", "value"},
	"notes":      {"number", "value"},
	"remindings": {"id", "due", "value"},
	"outgoing":   {"id", "state", "lease", "leased", "created", "changed", "channel", "carrier", "segments", "value", "erased"},
	"queue":      {"id", "at", "expires"},
	"carriers":   {"channel", "id", "message"},
	"early":      {"channel", "id", "state", "at"},
}

// importRows is how many rows Import sends at once.
const importRows = 5000

// Import fills the database at a URL with all that another store holds, in one
// transaction. It refuses one that holds something, unless overwrite is set,
// with session.ErrExists; and one that a gateway has open, with session.ErrBusy.
func Import(ctx context.Context, url string, things record.Things, options Options, overwrite bool) error {
	options = options.withDefaults()
	cfg, err := configure(url, options)
	if err != nil {
		return err
	}
	if _, err := prepareSchema(ctx, cfg.ConnConfig, options.Schema); err != nil {
		return err
	}
	conn, err := pgx.ConnectConfig(ctx, cfg.ConnConfig)
	if err != nil {
		return fault(ctx, "import", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	tx, err := conn.Begin(ctx)
	if err != nil {
		return fault(ctx, "import", err)
	}
	defer tx.Rollback(context.WithoutCancel(ctx)) //nolint:errcheck // does nothing once committed
	if err := makeRoom(ctx, tx, overwrite); err != nil {
		return err
	}
	if err := stillKnown(ctx, conn); err != nil {
		return err
	}
	i := importer{ctx: ctx, tx: tx, rows: make(map[string][][]any)}
	if err := things(i.take); err != nil {
		return fault(ctx, "import", err)
	}
	for table := range i.rows {
		if err := i.send(table); err != nil {
			return fault(ctx, "import", err)
		}
	}
	if err := tx.Commit(ctx); err != nil {
		return fault(ctx, "import", err)
	}
	// What the database knows of its tables decides how it looks things up.
	_, err = conn.Exec(ctx, "set statement_timeout = 0; analyze", pgx.QueryExecModeSimpleProtocol)
	return fault(ctx, "import", err)
}

// makeRoom makes sure that nobody uses the tables and that they are empty.
func makeRoom(ctx context.Context, tx pgx.Tx, overwrite bool) error {
	if _, err := tx.Exec(ctx, "set local statement_timeout = 0; set local idle_in_transaction_session_timeout = 0", pgx.QueryExecModeSimpleProtocol); err != nil {
		return fault(ctx, "import", err)
	}
	if err := unused(ctx, tx, "import"); err != nil {
		return err
	}
	for table := range tables {
		var full bool
		if err := tx.QueryRow(ctx, "select exists (select 1 from "+table+")").Scan(&full); err != nil {
			return fault(ctx, "import", err)
		}
		if full && !overwrite {
			return fmt.Errorf("postgres: import: %w: the database holds a store", session.ErrExists)
		}
		if full {
			if _, err := tx.Exec(ctx, "truncate "+table); err != nil {
				return fault(ctx, "import", err)
			}
		}
	}
	_, err := tx.Exec(ctx, "truncate forgetting") // of the store that was there
	return fault(ctx, "import", err)
}

type importer struct {
	ctx  context.Context
	tx   pgx.Tx
	rows map[string][][]any
}

// add keeps a row for its table, and sends the table's when they are many.
func (i importer) add(table string, row ...any) error {
	i.rows[table] = append(i.rows[table], row)
	if len(i.rows[table]) < importRows {
		return nil
	}
	return i.send(table)
}

func (i importer) send(table string) error {
	_, err := i.tx.CopyFrom(i.ctx, pgx.Identifier{table}, tables[table], pgx.CopyFromRows(i.rows[table]))
	i.rows[table] = nil
	return err
}

// take puts one thing of another store.
func (i importer) take(t record.Thing) error {
	switch {
	case t.Counted != nil:
		_, err := i.tx.Exec(i.ctx, `with told as (update about set secret = $1, journal = $5)
			select setval('dialogue_version', greatest($2, 1), $2 > 0), setval('check_position', greatest($3, 1), $3 > 0),
			setval(pg_get_serial_sequence('notes', 'number'), greatest($4, 1), $4 > 0)`,
			[]byte(t.Counted.Secret), int64(t.Counted.Dialogues), int64(t.Counted.Checks), int64(t.Counted.Notes), t.Counted.Journal)
		return err
	case t.Dialogue != nil:
		d := t.Dialogue
		return i.add("dialogues", string(d.Phone), int64(d.Version), column(d.Expires), column(d.Expires), encode(d, record.Dialogue))
	case t.Answer != nil:
		return i.add("duplicates", t.Answer.Key, column(t.Answer.Until), encode(&t.Answer.Reply, record.Reply))
	case t.Person != nil:
		p := t.Person
		return i.add("people", string(p.ID), int64(p.Version), orNull(string(p.Phone)), orNull(string(p.Agent)), int64(p.Short), p.Role == session.Coordinator, numberOrNull(namedIn(p)), int64(placeOf(p.District)), session.PlainName(p.Name), encode(p, record.Person))
	case t.Check != nil:
		k := t.Check
		return i.add("checks", string(k.Slip), int64(k.Version), int64(k.Position), string(k.Lot.Grower), string(k.Reporter), column(k.At), encode(k, record.Check))
	case t.Invite != nil:
		return i.add("invites", t.Invite.Code, int64(t.Invite.Version), column(t.Invite.Expires), string(t.Invite.Agent), string(t.Invite.Person), encode(t.Invite, record.Invite))
	case t.Account != nil:
		return i.add("accounts", string(t.Account.ID), int64(t.Account.Version), encode(t.Account, record.Account))
	case t.Note != nil:
		return i.add("notes", int64(t.Note.Number), encode(&t.Note.AuditNote, record.Note))
	case t.Reminder != nil:
		return i.add("remindings", string(t.Reminder.ID), column(t.Reminder.Due), encode(t.Reminder, record.Reminder))
	case t.Outgoing != nil:
		return i.message(t.Outgoing)
	case t.Carrier != nil:
		return i.add("carriers", t.Carrier.Channel, t.Carrier.ID, string(t.Carrier.Message))
	case t.Receipt != nil:
		return i.add("early", t.Receipt.Channel, t.Receipt.ID, string(t.Receipt.State), column(t.Receipt.At))
	}
	return nil
}

func (i importer) message(m *record.Message) error {
	var erased any
	if m.Erase && m.State == session.Queued {
		o := m.Outgoing
		o.State = session.HandedOn
		o.Settled()
		erased = encode(&o, record.Outgoing)
	}
	if m.State == session.Queued {
		at := column(m.Due)
		if !m.Leased.IsZero() {
			at = column(m.Leased)
		}
		if err := i.add("queue", string(m.ID), at, column(m.Expires)); err != nil {
			return err
		}
	}
	return i.add("outgoing", string(m.ID), string(m.State), int64(m.Lease), column(m.Leased), column(m.Created), column(m.Changed),
		m.Channel, m.CarrierID, int64(m.Segments), encode(&m.Outgoing, record.Outgoing), erased)
}

// numberOrNull is null for 0.
func numberOrNull(n int64) any {
	if n == 0 {
		return nil
	}
	return n
}

// orNull is null for nothing.
func orNull(s string) any {
	if s == "" {
		return nil
	}
	return s
}

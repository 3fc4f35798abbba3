package postgres

import (
	"bytes"
	"context"
	"slices"

	"github.com/jackc/pgx/v5"

	"threshline/session"
	"threshline/session/store/record"
)

// forgetting commits an exchange in which a person is forgotten. It reads every
// message, answer and dialogue, which takes more round trips; this is rare.
// Afterwards it looks for the names once more: an exchange that read one before
// it was taken out may have stored it since.
func (s *Store) forgetting(ctx context.Context, x *exchange) (answered *session.Reply, err error) {
	answered, err = s.erase(ctx, x.writes.Forget, x)
	if err != nil || answered != nil {
		return answered, err
	}
	var names []session.Trace
	for _, t := range x.writes.Forget {
		names = append(names, session.Trace{Name: t.Name})
	}
	_, err = s.erase(context.WithoutCancel(ctx), names, nil)
	s.recent.clear()
	return nil, err
}

// erase writes x, unless it is nil, and removes what the traces name from
// everything else, in one transaction.
func (s *Store) erase(ctx context.Context, traces []session.Trace, x *exchange) (answered *session.Reply, err error) {
	if err := s.open(ctx); err != nil {
		return nil, err
	}
	tx, err := s.pool.Begin(ctx)
	if err != nil {
		return nil, fault(ctx, "forget", err)
	}
	defer tx.Rollback(context.WithoutCancel(ctx)) //nolint:errcheck // does nothing once committed
	if _, err := tx.Exec(ctx, "set local statement_timeout = 0"); err != nil {
		return nil, fault(ctx, "forget", err)
	}
	e := eraser{ctx: ctx, tx: tx, hasher: s.hasher}
	if x != nil {
		j := &job{x: x}
		var item int
		var r result
		if err := tx.QueryRow(ctx, writeSQL, arrays([]*job{j})...).Scan(&item, &r.outcome, &r.what, &r.was, &r.stored); err != nil {
			return nil, fault(ctx, "forget", err)
		}
		if err := j.result(r); err != nil || j.answered != nil {
			return j.answered, err
		}
		e.written = x
	}
	for _, t := range traces {
		if t.Empty() {
			continue
		}
		for _, part := range []func(session.Trace) error{e.dialogues, e.answers, e.messages, e.reminders} {
			if err := part(t); err != nil {
				return nil, fault(ctx, "forget", err)
			}
		}
	}
	return nil, fault(ctx, "forget", tx.Commit(ctx))
}

// eraser takes somebody out of what a transaction sees, but for what the
// exchange itself has written.
type eraser struct {
	ctx     context.Context
	tx      pgx.Tx
	hasher  *record.Hasher
	written *exchange // nil when there is none
}

// found is a row that holds a word of somebody's.
type found struct {
	key   []byte
	value []byte
}

// holding lists the rows of a table whose record holds one of the words.
func (e *eraser) holding(table, key, value, state string, words []string) (list []found, err error) {
	bytes := make([][]byte, 0, len(words))
	for _, word := range words {
		if word != "" {
			bytes = append(bytes, []byte(word))
		}
	}
	sql := "select " + key + "::bytea, " + value + " from " + table + " where " + state +
		" exists (select 1 from unnest($1::bytea[]) as w where position(w in " + value + ") > 0) for update"
	err = each(e.ctx, e.tx, sql, []any{bytes}, func(r pgx.Rows) error {
		var f found
		err := r.Scan(&f.key, &f.value)
		list = append(list, f)
		return err
	})
	return list, err
}

func (e *eraser) exec(sql string, args ...any) error {
	_, err := e.tx.Exec(e.ctx, sql, args...)
	return err
}

// own reports whether the exchange wrote a record of a kind under a key.
func (e *eraser) own(kind, key string) bool {
	return e.written != nil && slices.ContainsFunc(e.written.changes, func(c change) bool { return c.kind == kind && c.id == key })
}

// dialogues drops the dialogue of who is forgotten and takes the name out of
// the others. Those get a new version, so that a turn under way does not put
// the name back.
func (e *eraser) dialogues(t session.Trace) error {
	written := session.Phone("")
	if e.written != nil && e.written.writes.Dialogue != nil {
		written = e.written.writes.Dialogue.Phone
	}
	if t.Phone != "" && t.Phone != written {
		if err := e.exec("delete from dialogues where phone = $1", t.Phone); err != nil {
			return err
		}
	}
	// What the next turn may ask, as somebody wrote it; it is asked again where it is not kept.
	if err := e.exec("update dialogues set asks = '' where asks ~ $1", asksOfPeople); err != nil {
		return err
	}
	list, err := e.holding("dialogues", "convert_to(phone, 'UTF8')", "value", "", t.Words())
	for _, f := range list {
		var d session.Dialogue
		if err := record.Decode(f.value, &d, record.Dialogue); err != nil {
			return err
		}
		if d.Phone == written || !d.Redact(t) {
			continue
		}
		if err := e.exec("update dialogues set version = nextval('dialogue_version'), value = $2 where phone = $1", d.Phone, encode(&d, record.Dialogue)); err != nil {
			return err
		}
	}
	return err
}

// answers silences those to who is forgotten, and takes the name out of others.
func (e *eraser) answers(t session.Trace) error {
	var own []byte
	if e.written != nil {
		own = e.written.answer
	}
	if t.Phone != "" {
		first := e.hasher.Hash(nil, string(t.Phone))
		last := append(slices.Clone(first), bytes.Repeat([]byte{0xff}, record.HashSize)...)
		silent := encode(&session.Reply{Silent: true}, record.Reply)
		if err := e.exec("update duplicates set reply = $3 where key between $1 and $2 and key is distinct from $4", first, last, silent, own); err != nil {
			return err
		}
	}
	list, err := e.holding("duplicates", "key", "reply", "", t.Words())
	for _, f := range list {
		reply, err := readReply(f.value)
		if err != nil {
			return err
		}
		reply.Text = t.Redact(reply.Text)
		if bytes.Equal(f.key, own) {
			continue
		}
		if err := e.exec("update duplicates set reply = $2 where key = $1", f.key, encode(reply, record.Reply)); err != nil {
			return err
		}
	}
	return err
}

// messages drops those that wait to go to who is forgotten, or marks them to be
// erased, and takes the name out of others.
func (e *eraser) messages(t session.Trace) error {
	for _, waits := range []bool{true, false} {
		state := "state = 'queued' and"
		if !waits {
			state = "state <> 'queued' and"
		}
		list, err := e.holding("outgoing", "convert_to(id, 'UTF8')", "value", state, t.Words())
		if err != nil {
			return err
		}
		for _, f := range list {
			if err := e.message(t, f, waits); err != nil {
				return err
			}
		}
	}
	return nil
}

func (e *eraser) message(t session.Trace, f found, waits bool) error {
	var o session.Outgoing
	if err := record.Decode(f.value, &o, record.Outgoing); err != nil {
		return err
	}
	own, theirs := e.own("o", string(o.ID)), t.Phone != "" && o.To == t.Phone
	if o.State = session.HandedOn; waits {
		o.State = session.Queued
	}
	switch {
	case theirs && !own && t.Drops(o):
		for _, sql := range []string{"delete from queue where id = $1", "delete from carriers where message = $1", "delete from outgoing where id = $1"} {
			if err := e.exec(sql, o.ID); err != nil {
				return err
			}
		}
		return nil
	case theirs:
		o.Forget()
		erased := o
		erased.State = session.HandedOn
		erased.Settled()
		return e.exec("update outgoing set value = $2, erased = $3 where id = $1", o.ID, encode(&o, record.Outgoing), encode(&erased, record.Outgoing))
	case own:
		return nil
	}
	o.Text = t.Redact(o.Text)
	return e.exec("update outgoing set value = $2 where id = $1", o.ID, encode(&o, record.Outgoing))
}

func (e *eraser) reminders(t session.Trace) error {
	list, err := e.holding("remindings", "convert_to(id, 'UTF8')", "value", "", []string{string(t.Person), string(t.Phone)})
	for _, f := range list {
		var due session.Reminder
		if err := record.Decode(f.value, &due, record.Reminder); err != nil {
			return err
		}
		if (t.Person == "" || due.Person != t.Person) && (t.Phone == "" || due.Phone != t.Phone) || e.own("r", string(due.ID)) {
			continue
		}
		if err := e.exec("delete from remindings where id = $1", due.ID); err != nil {
			return err
		}
	}
	return err
}

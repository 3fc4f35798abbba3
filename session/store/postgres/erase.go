package postgres

import (
	"bytes"
	"context"
	"slices"

	"github.com/jackc/pgx/v5"

	"threshline/session"
	"threshline/session/store/record"
)

// eraser takes somebody out of what a transaction sees, but for what the
// exchange itself has written.
type eraser struct {
	ctx     context.Context
	tx      pgx.Tx
	hasher  *record.Hasher
	written *exchange // nil at the later look
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

// spoken is a dialogue that names who is forgotten, or may.
type spoken struct {
	phone session.Phone
	value []byte
	asks  string
}

// lock locks the dialogues that have to do with those who are forgotten and lists
// them; own is the dialogue of the exchange. All who lock several do so in the order
// of phones.
func (e *eraser) lock(traces []session.Trace, own session.Phone) (list []spoken, err error) {
	phones, words := []string{string(own)}, [][]byte{}
	for _, t := range traces {
		phones = append(phones, string(t.Phone))
		for _, word := range t.Words() {
			words = append(words, []byte(word))
		}
	}
	const sql = `select phone, value, asks from dialogues where phone = any($1) or asks ~ $2
		or exists (select 1 from unnest($3::bytea[]) as w where position(w in value) > 0) order by phone for update`
	err = each(e.ctx, e.tx, sql, []any{phones, asksOfPeople, words}, func(r pgx.Rows) error {
		var d spoken
		err := r.Scan(&d.phone, &d.value, &d.asks)
		list = append(list, d)
		return err
	})
	return list, err
}

// all takes those who are forgotten out of everything; list is what lock gave.
func (e *eraser) all(traces []session.Trace, list []spoken) error {
	for _, d := range list {
		if err := e.dialogue(traces, d); err != nil {
			return err
		}
	}
	for _, t := range traces {
		if t.Empty() {
			continue
		}
		for _, part := range []func(session.Trace) error{e.answers, e.messages, e.reminders} {
			if err := part(t); err != nil {
				return err
			}
		}
	}
	return nil
}

// dialogue drops the dialogue of who is forgotten and takes the name out of
// another. That gets a new version, so that a turn under way does not put the name
// back. Kept questions that hold the name or the number are dropped: the next turn
// asks them late. Who talks with the number of somebody forgotten afterwards is a
// stranger.
func (e *eraser) dialogue(traces []session.Trace, d spoken) error {
	if e.written != nil && e.written.writes.Dialogue != nil && e.written.writes.Dialogue.Phone == d.phone {
		return nil
	}
	var is session.Dialogue
	if err := record.Decode(d.value, &is, record.Dialogue); err != nil {
		return err
	}
	found := names.MatchString(d.asks)
	for _, t := range traces {
		if e.written != nil && t.Phone == d.phone {
			return e.exec("delete from dialogues where phone = $1", d.phone)
		}
		found = is.Redact(t) || found
	}
	if !found {
		return nil
	}
	return e.exec("update dialogues set version = nextval('dialogue_version'), value = $2, asks = case when $3 then '' else asks end where phone = $1",
		d.phone, encode(&is, record.Dialogue), names.MatchString(d.asks))
}

// answers silences those to who is forgotten, and takes the name out of others.
func (e *eraser) answers(t session.Trace) error {
	var own []byte
	if e.written != nil {
		own = e.written.answer
	}
	if t.Phone != "" && e.written != nil {
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
	case theirs && e.written == nil && o.Erase: // by the exchange itself
		return nil
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

package bolt

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/record"
)

// A store file is also what another engine's backup is: all that engines keep
// can be taken out of one and made into one.

// Export hands over all that the store holds, as it is at one moment.
func (s *Store) Export(ctx context.Context, yield func(record.Thing) error) error {
	return s.snapshot(func(tx *bbolt.Tx) error {
		e := exporter{tx: tx, yield: func(t record.Thing) error {
			if err := ctx.Err(); err != nil {
				return fmt.Errorf("bolt: %w", err)
			}
			return yield(t)
		}}
		for _, part := range []func() error{
			e.counted, e.dialogues, e.answers,
			handed(e, personBucket, personAt, func(p *session.Person) record.Thing { return record.Thing{Person: p} }),
			handed(e, checkBucket, checkAt, func(c *session.Check) record.Thing { return record.Thing{Check: c} }),
			handed(e, inviteBucket, inviteAt, func(i *session.Invite) record.Thing { return record.Thing{Invite: i} }),
			handed(e, accountBucket, accountAt, func(a *session.Account) record.Thing { return record.Thing{Account: a} }),
			e.notes,
			handed(e, reminderBucket, reminderAt, func(r *session.Reminder) record.Thing { return record.Thing{Reminder: r} }),
			handed(e, outgoingBucket, outgoingAt, func(o *storedOutgoing) record.Thing {
				return record.Thing{Outgoing: &record.Message{Outgoing: o.Outgoing, Leased: record.Moment(o.leased)}}
			}),
			e.carriers, e.early,
		} {
			if err := part(); err != nil {
				return err
			}
		}
		return nil
	})
}

type exporter struct {
	tx    *bbolt.Tx
	yield func(record.Thing) error
}

func (e exporter) counted() error {
	key, err := secretOf(e.tx)
	if err != nil {
		return err
	}
	return e.yield(record.Thing{Counted: &record.Counted{
		Secret: key, Dialogues: e.tx.Bucket(dialogueBucket).Sequence(),
		Checks: e.tx.Bucket(checkBucket).Sequence(), Notes: e.tx.Bucket(noteBucket).Sequence(),
		Journal: bytes.Clone(e.tx.Bucket(aboutBucket).Get(journalKey)),
	}})
}

func (e exporter) dialogues() error {
	return in(e.tx, dialogueBucket).ForEach(func(_, v []byte) error {
		h, err := readDialogueHead(v)
		if err != nil {
			return err
		}
		body, behind := splitDialogue(v[dialogueHeadSize:])
		d := new(session.Dialogue)
		if err := record.Decode(body, d, record.Dialogue); err != nil {
			return fmt.Errorf("bolt: dialogue: %w", err)
		}
		d.Version = h.version
		if err := e.yield(record.Thing{Dialogue: d}); err != nil {
			return err
		}
		list, err := answersBehind(behind, 0)
		if err != nil {
			return err
		}
		for _, a := range list {
			answer := &record.Answer{Key: bytes.Clone(a.key), Until: record.Moment(a.until)}
			if err := record.Decode(a.reply, &answer.Reply, record.Reply); err != nil {
				return fmt.Errorf("bolt: stored reply: %w", err)
			}
			if err := e.yield(record.Thing{Answer: answer}); err != nil {
				return err
			}
		}
		return nil
	})
}

func (e exporter) answers() error {
	return in(e.tx, duplicateBucket).ForEach(func(k, v []byte) error {
		var kept kept
		if err := record.Decode(v, &kept, keptFields); err != nil {
			return fmt.Errorf("bolt: stored reply: %w", err)
		}
		return e.yield(record.Thing{Answer: &record.Answer{Key: bytes.Clone(k), Until: record.Moment(kept.until), Reply: kept.reply}})
	})
}

// handed hands over every record of a bucket.
func handed[T any](e exporter, bucket []byte, read func(k, v []byte) (T, error), thing func(*T) record.Thing) func() error {
	return func() error {
		return in(e.tx, bucket).ForEach(func(k, v []byte) error {
			out, err := read(k, v)
			if err != nil {
				return err
			}
			return e.yield(thing(&out))
		})
	}
}

func (e exporter) notes() error {
	return in(e.tx, noteBucket).ForEach(func(k, v []byte) error {
		n := &record.Numbered{Number: binary.BigEndian.Uint64(k)}
		if err := record.Decode(v, &n.AuditNote, record.Note); err != nil {
			return fmt.Errorf("bolt: note: %w", err)
		}
		return e.yield(record.Thing{Note: n})
	})
}

func (e exporter) carriers() error {
	return in(e.tx, carrierBucket).ForEach(func(k, v []byte) error {
		channel, id, _ := bytes.Cut(k, []byte{0})
		if in(e.tx, outgoingBucket).Get(v) == nil {
			return nil // of a message that is no more
		}
		return e.yield(record.Thing{Carrier: &record.Carrier{Channel: string(channel), ID: string(id), Message: session.OutgoingID(v)}})
	})
}

func (e exporter) early() error {
	return in(e.tx, earlyBucket).ForEach(func(k, v []byte) error {
		channel, id, _ := bytes.Cut(k, []byte{0})
		var r receipt
		if err := record.Decode(v, &r, receiptFields); err != nil {
			return fmt.Errorf("bolt: receipt: %w", err)
		}
		return e.yield(record.Thing{Receipt: &record.Receipt{Channel: string(channel), ID: string(id), State: r.state, At: record.Moment(r.at)}})
	})
}

// importSlice is how many things one transaction of Import writes.
const importSlice = 20_000

// Import makes the store file at path of all that another store holds, verified
// as VerifyFile does. It refuses to replace a file unless overwrite is set: the
// error is then os.ErrExist.
func Import(ctx context.Context, path string, things record.Things, options Options, overwrite bool) error {
	return anew("import to", path, overwrite, func(part string) error {
		if err := filled(part, func(db *bbolt.DB) error { return importAll(ctx, db, things, options.withDefaults()) }); err != nil {
			return err
		}
		return VerifyFile(ctx, part)
	})
}

func importAll(ctx context.Context, db *bbolt.DB, things record.Things, options Options) error {
	tx, err := db.Begin(true)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }() // does nothing once committed
	if err := initialise(tx); err != nil {
		return err
	}
	n := 0
	err = things(func(t record.Thing) error {
		if n++; n%importSlice == 0 {
			if err := errors.Join(ctx.Err(), tx.Commit()); err != nil {
				return err
			}
			if tx, err = db.Begin(true); err != nil {
				return err
			}
		}
		p := &putter{tx: tx}
		p.thing(t, options)
		return p.err
	})
	return errors.Join(err, tx.Commit())
}

// thing puts one thing of another store.
func (p *putter) thing(t record.Thing, options Options) {
	switch {
	case t.Counted != nil:
		p.err = errors.Join(
			p.tx.Bucket(aboutBucket).Put(secretKey, t.Counted.Secret), p.tx.Bucket(dialogueBucket).SetSequence(t.Counted.Dialogues),
			p.tx.Bucket(checkBucket).SetSequence(t.Counted.Checks), p.tx.Bucket(noteBucket).SetSequence(t.Counted.Notes),
		)
		if id := t.Counted.Journal; id != nil {
			p.err = errors.Join(p.err, p.tx.Bucket(aboutBucket).Put(journalKey, id))
		}
	case t.Dialogue != nil:
		d, key := t.Dialogue, []byte(t.Dialogue.Phone)
		h := dialogueHead{version: d.Version, expires: record.Instant(d.Expires)}
		h.watched = h.expires
		v := record.Encode(make([]byte, dialogueHeadSize, 1024), d, record.Dialogue)
		h.put(v)
		p.put(dialogueBucket, key, v)
		if h.watched != 0 {
			p.put(expiryBucket, expiryKey(h.watched, dialogueExpiry, key), nil)
		}
	case t.Answer != nil:
		until := record.Instant(t.Answer.Until)
		p.keepAnswers([]answer{{key: t.Answer.Key, until: until, reply: record.Encode(nil, &t.Answer.Reply, record.Reply)}})
	case t.Person != nil:
		c := personChange{new: t.Person, value: record.Encode(begun(t.Person.Version), t.Person, record.Person)}
		c.write(p)
		c.takePhone(p)
	case t.Check != nil:
		p.check(t.Check)
	case t.Invite != nil:
		p.putInvite(t.Invite, record.Encode(begun(t.Invite.Version), t.Invite, record.Invite))
	case t.Account != nil:
		p.put(accountBucket, []byte(t.Account.ID), record.Encode(begun(t.Account.Version), t.Account, record.Account))
	case t.Note != nil:
		p.put(noteBucket, number(t.Note.Number), record.Encode(nil, &t.Note.AuditNote, record.Note))
	case t.Reminder != nil:
		r := t.Reminder
		p.put(reminderBucket, []byte(r.ID), record.Encode(nil, r, record.Reminder))
		p.put(remindBucket, timed(record.Instant(r.Due), string(r.ID)), nil)
	case t.Outgoing != nil:
		o := storedOutgoing{Outgoing: t.Outgoing.Outgoing, leased: record.Instant(t.Outgoing.Leased)}
		p.putOutgoing(&o, encodeOutgoing(o.leased, &o.Outgoing), options.KeepSent)
	case t.Carrier != nil:
		p.put(carrierBucket, carrierKey(t.Carrier.Channel, t.Carrier.ID), []byte(t.Carrier.Message))
	case t.Receipt != nil:
		k := carrierKey(t.Receipt.Channel, t.Receipt.ID)
		p.put(earlyBucket, k, record.Encode(nil, &receipt{t.Receipt.State, record.Instant(t.Receipt.At)}, receiptFields))
		p.put(expiryBucket, expiryKey(record.Instant(t.Receipt.At.Add(keepEarly)), earlyExpiry, k), nil)
	}
}

// check puts a check at the position that it has.
func (p *putter) check(k *session.Check) {
	position, slip, at := number(k.Position), string(k.Slip), record.Instant(k.At)
	p.put(checkBucket, position, record.Encode(begun(k.Version), k, record.Check))
	p.put(slipBucket, []byte(slip), position)
	p.put(ofGrowerBucket, filedKey(string(k.Lot.Grower), at, slip), nil)
	p.put(byReporterBucket, filedKey(string(k.Reporter), at, slip), nil)
}

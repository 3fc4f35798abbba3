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

// Verify reads the whole store and checks that keys are in order, that every
// record can be read, and that every index leads to its record and back. It
// can run while the store serves; the error is a *Fault. What the library
// knows about its pages is checked by [VerifyFile], on a file at rest.
func (s *Store) Verify(ctx context.Context) (err error) {
	defer recoverDamage(s.path, &err)
	return s.read(ctx, func(tx *bbolt.Tx) error { return verify(ctx, tx, s.path) })
}

// verify checks one transaction's view of a store.
func verify(ctx context.Context, tx *bbolt.Tx, path string) error {
	for _, name := range buckets {
		b := tx.Bucket(name)
		if b == nil {
			return damaged(path, fmt.Errorf("%q is missing", name))
		}
		if err := inspectBucket(path, name, b); err != nil {
			return err
		}
	}
	for _, part := range []func(*bbolt.Tx) error{verifyAccounts, verifyDialogues, verifyPeople, verifyChecks, verifyOutgoing, verifyReminders, verifyCounts} {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("bolt: %w", err)
		}
		if err := part(tx); err != nil {
			return damaged(path, err)
		}
	}
	return nil
}

// verifyPages has the library check its own pages. No writer may be at work.
func verifyPages(tx *bbolt.Tx) error {
	var first error
	for err := range tx.Check() { // drained, or its goroutine would stay
		if first == nil {
			first = err
		}
	}
	return first
}

func verifyDialogues(tx *bbolt.Tx) error {
	expiry := in(tx, expiryBucket)
	return in(tx, dialogueBucket).ForEach(func(k, v []byte) error {
		h, err := readDialogueHead(v)
		if err != nil {
			return err
		}
		if v == nil { // a bucket where a record should be
			return fmt.Errorf("%w: a dialogue is missing", ErrDamaged)
		}
		var d session.Dialogue
		body, answers := splitDialogue(v[dialogueHeadSize:])
		if err := record.Decode(body, &d, record.Dialogue); err != nil {
			return err
		}
		if _, err := answersBehind(answers, 0); err != nil {
			return err
		}
		if string(d.Phone) != string(k) {
			return fmt.Errorf("a dialogue of %v lies under another phone", d.Phone)
		}
		if h.watched != 0 && !has(expiry, expiryKey(h.watched, dialogueExpiry, k)) || h.watched == 0 && h.expires != 0 {
			return fmt.Errorf("the dialogue of %v would never be swept", d.Phone)
		}
		return nil
	})
}

func verifyAccounts(tx *bbolt.Tx) error {
	return in(tx, accountBucket).ForEach(func(k, v []byte) error {
		a, err := accountAt(k, v)
		if err == nil && string(a.ID) != string(k) {
			err = errors.New("an account lies under another's key")
		}
		return err
	})
}

func verifyPeople(tx *bbolt.Tx) error {
	v := view{tx: tx}
	phones, growers, heads := in(tx, phoneBucket), in(tx, growerBucket), in(tx, headBucket)
	err := in(tx, personBucket).ForEach(func(k, _ []byte) error {
		p, err := v.Person(session.PersonID(k))
		switch {
		case err != nil:
			return err
		case string(p.ID) != string(k):
			return fmt.Errorf("person %q lies under %q", string(p.ID), k)
		case p.Phone != "" && string(phones.Get([]byte(p.Phone))) != string(p.ID):
			return fmt.Errorf("person %q is not found by phone", string(p.ID))
		case p.Agent != "" && !has(growers, growerKey(string(p.Agent), p.Short, string(p.ID))):
			return fmt.Errorf("person %q is not among the agent's growers", string(p.ID))
		case namedKey(&p) != nil && !has(growers, namedKey(&p)):
			return fmt.Errorf("person %q is not among the agents named in the district", string(p.ID))
		case (p.Role == session.Coordinator) != has(heads, k):
			return fmt.Errorf("person %q is wrongly listed as a coordinator, or not listed", string(p.ID))
		}
		return nil
	})
	if err == nil {
		err = heads.ForEach(func(k, _ []byte) error { _, err := v.Person(session.PersonID(k)); return err })
	}
	if err != nil {
		return err
	}
	return phones.ForEach(func(k, id []byte) error {
		if p, err := v.Person(session.PersonID(id)); err != nil || string(p.Phone) != string(k) {
			return fmt.Errorf("a phone leads to person %q, who has another (%v)", id, err)
		}
		return nil
	})
}

func verifyChecks(tx *bbolt.Tx) error {
	v := view{tx: tx}
	slips, of, by := in(tx, slipBucket), in(tx, ofGrowerBucket), in(tx, byReporterBucket)
	last := in(tx, checkBucket).Sequence()
	return in(tx, checkBucket).ForEach(func(position, _ []byte) error {
		k, err := v.checkAt(position)
		if err != nil {
			return err
		}
		at := record.Instant(k.At)
		switch {
		case binary.BigEndian.Uint64(position) > last:
			return fmt.Errorf("check %q lies at a position that was never given", string(k.Slip))
		case !bytes.Equal(slips.Get([]byte(k.Slip)), position):
			return fmt.Errorf("check %q is not found by slip", string(k.Slip))
		case !has(of, filedKey(string(k.Lot.Grower), at, string(k.Slip))):
			return fmt.Errorf("check %q is not found by grower", string(k.Slip))
		case !has(by, filedKey(string(k.Reporter), at, string(k.Slip))):
			return fmt.Errorf("check %q is not found by reporter", string(k.Slip))
		}
		return nil
	})
}

func verifyOutgoing(tx *bbolt.Tx) error {
	queue, sent := in(tx, queueBucket), in(tx, sentBucket)
	waiting := 0
	err := in(tx, outgoingBucket).ForEach(func(id, _ []byte) error {
		o, err := readOutgoing(tx, id)
		if err != nil {
			return err
		}
		queued := o.State == session.Queued
		if queued {
			waiting++
		}
		if queued != has(queue, o.place()) || !has(sent, timed(record.Instant(o.Created), string(o.ID))) {
			return fmt.Errorf("message %q is not where its state says", id)
		}
		return nil
	})
	if err == nil && waiting != entries(queue.Bucket) {
		err = fmt.Errorf("%d messages wait, the queue holds %d", waiting, entries(queue.Bucket))
	}
	return err
}

func verifyReminders(tx *bbolt.Tx) error {
	order := in(tx, remindBucket)
	return in(tx, reminderBucket).ForEach(func(id, v []byte) error {
		r, err := reminderAt(id, v)
		if err != nil {
			return err
		}
		if !has(order, timed(record.Instant(r.Due), string(r.ID))) {
			return fmt.Errorf("reminder %q would never come due", id)
		}
		return nil
	})
}

// verifyCounts finds index entries that lead nowhere.
func verifyCounts(tx *bbolt.Tx) error {
	for _, pair := range [][2][]byte{
		{checkBucket, slipBucket}, {checkBucket, ofGrowerBucket}, {checkBucket, byReporterBucket},
		{outgoingBucket, sentBucket}, {reminderBucket, remindBucket},
	} {
		if a, b := entries(tx.Bucket(pair[0])), entries(tx.Bucket(pair[1])); a != b {
			return fmt.Errorf("%q holds %d entries, %q %d", pair[0], a, pair[1], b)
		}
	}
	return nil
}

// has reports whether a key is there, with or without a value.
func has(s shelf, key []byte) bool { return s.Get(key) != nil }

func entries(b *bbolt.Bucket) int {
	n := 0
	c := b.Cursor()
	for k, _ := c.First(); k != nil; k, _ = c.Next() {
		n++
	}
	return n
}

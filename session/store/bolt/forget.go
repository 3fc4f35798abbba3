package bolt

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/record"
)

// erasure lists where a store has data of a person who is to be forgotten. It
// is looked for on the snapshot, in the caller's goroutine, since that reads
// every message, answer and dialogue; the committer reads again what was found.
type erasure struct {
	session.Trace
	// outgoing, reminders and others' dialogues by key; answers that name them.
	outgoing, reminders, dialogues, answers [][]byte
}

func (e *erasure) empty() bool {
	return len(e.outgoing)+len(e.reminders)+len(e.dialogues)+len(e.answers) == 0
}

// find looks for somebody.
func find(tx *bbolt.Tx, t session.Trace) (erasure, error) {
	e, words := erasure{Trace: t}, t.Words()
	if t.Person != "" {
		words = append(words, string(t.Person))
	}
	for _, place := range []struct {
		bucket []byte
		keys   *[][]byte
	}{{outgoingBucket, &e.outgoing}, {reminderBucket, &e.reminders}, {dialogueBucket, &e.dialogues}, {duplicateBucket, &e.answers}} {
		err := in(tx, place.bucket).ForEach(func(k, v []byte) error {
			if slices.ContainsFunc(words, func(word string) bool { return bytes.Contains(v, []byte(word)) }) {
				*place.keys = append(*place.keys, bytes.Clone(k))
			}
			return nil
		})
		if err != nil {
			return e, err
		}
	}
	return e, nil
}

// prepareForgetting finds all that the turn wants forgotten.
func (x *exchange) prepareForgetting(tx *bbolt.Tx) error {
	for _, t := range x.writes.Forget {
		e, err := find(tx, t)
		if err != nil {
			return err
		}
		x.erasures = append(x.erasures, e)
		for i := range x.writes.Outgoing {
			if o := &x.writes.Outgoing[i]; t.Phone != "" && o.To == t.Phone {
				o.Forget()
			}
		}
	}
	return nil
}

// forgets reports whether the turn wants everything about a phone to be
// forgotten.
func (x *exchange) forgets(phone session.Phone) bool {
	return slices.ContainsFunc(x.writes.Forget, func(t session.Trace) bool { return t.Phone != "" && t.Phone == phone })
}

// erase takes out what was found; x is the exchange that wants it, or nil.
func (p *putter) erase(e *erasure, x *exchange) {
	if e.Phone != "" && x != nil {
		p.silence(x.hasher.Hash(nil, string(e.Phone)))
		if !slices.ContainsFunc(x.dialogues, func(c dialogueChange) bool { return string(c.phone) == string(e.Phone) }) {
			p.dropDialogue([]byte(e.Phone))
		}
	}
	for _, id := range e.outgoing {
		p.eraseOutgoing(e, id)
	}
	for _, id := range e.reminders {
		p.eraseReminder(e, id)
	}
	for _, phone := range e.dialogues {
		if string(phone) != string(e.Phone) {
			p.eraseDialogue(e, phone)
		}
	}
	for _, key := range e.answers {
		if v := in(p.tx, duplicateBucket).Get(key); v != nil {
			p.put(duplicateBucket, key, p.withoutName(e, v))
		}
	}
}

// silent is the answer to who was forgotten, with room for nothing behind it.
func silent() []byte { return record.Encode(nil, &session.Reply{Silent: true}, record.Reply) }

// silence takes the words out of all answers to a phone, by the hash of it: a
// message that comes again still changes nothing.
func (p *putter) silence(of []byte) {
	var list []answer
	c := in(p.tx, duplicateBucket).Cursor()
	for key, v := c.Seek(of); bytes.HasPrefix(key, of); key, v = c.Next() {
		var k kept
		if err := record.Decode(v, &k, keptFields); err != nil {
			p.err = fmt.Errorf("bolt: stored reply: %w", err)
		}
		list = append(list, answer{bytes.Clone(key), k.until, silent()})
	}
	for _, a := range list {
		p.putAnswer(a)
	}
}

func (p *putter) dropDialogue(phone []byte) {
	v := in(p.tx, dialogueBucket).Get(phone)
	if h, err := readDialogueHead(v); err == nil && v != nil {
		p.delete(expiryBucket, expiryKey(h.watched, dialogueExpiry, phone))
		p.delete(dialogueBucket, phone)
	}
}

func (p *putter) eraseOutgoing(e *erasure, id []byte) {
	o, err := readOutgoing(p.tx, id)
	switch {
	case p.err != nil || isNotFound(err):
		return
	case err != nil:
		p.err = err
		return
	case e.Phone != "" && o.To == e.Phone && e.Drops(o.Outgoing):
		p.delete(queueBucket, o.place())
		p.dropOutgoing(&o.Outgoing)
		return
	case e.Phone != "" && o.To == e.Phone:
		o.Forget()
	default:
		o.Text = e.Redact(o.Text)
	}
	p.put(outgoingBucket, id, encodeOutgoing(o.leased, &o.Outgoing))
}

func (p *putter) eraseReminder(e *erasure, id []byte) {
	var r session.Reminder
	v := in(p.tx, reminderBucket).Get(id)
	if err := record.Decode(v, &r, record.Reminder); err != nil {
		p.err = fmt.Errorf("bolt: reminder: %w", err)
	}
	if v != nil && (e.Person != "" && r.Person == e.Person || e.Phone != "" && r.Phone == e.Phone) {
		dropReminder(p, id)
	}
}

// eraseDialogue takes the name out of another's dialogue and of the answers
// behind it. It gets a new version, so that a turn under way does not put the
// name back.
func (p *putter) eraseDialogue(e *erasure, phone []byte) {
	v := in(p.tx, dialogueBucket).Get(phone)
	h, err := readDialogueHead(v)
	if v == nil || err != nil || p.err != nil {
		return
	}
	body, answers := splitDialogue(v[dialogueHeadSize:])
	var d session.Dialogue
	list, err := answersBehind(answers, 0)
	if err == nil {
		err = record.Decode(body, &d, record.Dialogue)
	}
	if err != nil {
		p.err = fmt.Errorf("bolt: dialogue: %w", err)
		return
	}
	d.Redact(e.Trace)
	out := record.Encode(make([]byte, dialogueHeadSize, len(v)+64), &d, record.Dialogue)
	for _, a := range list {
		a.reply = p.withoutName(e, a.reply)
		out = appendAnswer(out, a)
	}
	h.version = p.number(dialogueBucket)
	h.put(out)
	p.put(dialogueBucket, phone, out)
}

// withoutName is an answer without the name.
func (p *putter) withoutName(e *erasure, v []byte) []byte {
	var k kept
	if err := record.Decode(v, &k, keptFields); err != nil {
		p.err = fmt.Errorf("bolt: stored reply: %w", err)
	}
	k.reply.Text = e.Redact(k.reply.Text)
	return record.Encode(nil, &k, keptFields)
}

func isNotFound(err error) bool { return errors.Is(err, session.ErrNotFound) }

// forgetNames looks once more, after the commit: an exchange that read a name
// before it was taken out may have stored it after.
func (s *Store) forgetNames(ctx context.Context, traces []session.Trace) error {
	var left erasing
	err := s.snapshot(func(tx *bbolt.Tx) error {
		for _, t := range traces {
			e, err := find(tx, session.Trace{Name: t.Name})
			if err != nil {
				return err
			}
			if !e.empty() {
				left = append(left, e)
			}
		}
		return nil
	})
	if err != nil || len(left) == 0 {
		return err
	}
	return s.submit(ctx, left)
}

// erasing is an erasure as work of its own.
type erasing []erasure

func (erasing) check(*bbolt.Tx) error { return nil }

func (w erasing) write(tx *bbolt.Tx) error {
	p := &putter{tx: tx}
	for i := range w {
		p.erase(&w[i], nil)
	}
	return p.err
}

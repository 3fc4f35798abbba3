package bolt

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"time"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/record"
)

// Sweep looks at up to n things whose time has come at now and takes away those
// that are over: dialogues that expired, duplicate keys past their time,
// messages settled longer ago than the store keeps them, receipts that never
// found their message, invitations that are no longer valid. It returns how
// many it looked at: fewer than n when nothing more waits. A dialogue or
// duplicate key is valid until it is swept.
func (s *Store) Sweep(ctx context.Context, now time.Time, n int) (int, error) {
	w := &sweep{now: record.Instant(now), n: n, keep: s.options.KeepSent}
	s.swept.Store(w.now)
	due := false
	err := s.snapshot(func(tx *bbolt.Tx) error {
		k, _ := in(tx, expiryBucket).Cursor().First()
		due = k != nil && binary.BigEndian.Uint64(k) <= w.now
		return nil
	})
	if err != nil || !due || n <= 0 {
		return 0, err
	}
	if err := s.submit(ctx, w); err != nil {
		return 0, err
	}
	return len(w.entries), nil
}

type sweep struct {
	now     uint64
	n       int
	keep    time.Duration
	entries []expiry
}

// expiry is an entry of the expiry bucket.
type expiry struct{ key, value []byte }

func (w *sweep) check(tx *bbolt.Tx) error {
	w.entries = nil
	c := in(tx, expiryBucket).Cursor()
	for k, v := c.First(); k != nil && len(w.entries) < w.n && binary.BigEndian.Uint64(k) <= w.now; k, v = c.Next() {
		w.entries = append(w.entries, expiry{bytes.Clone(k), bytes.Clone(v)})
	}
	return nil
}

func (w *sweep) write(tx *bbolt.Tx) error {
	p := &putter{tx: tx}
	for _, entry := range w.entries {
		at, kind, key := binary.BigEndian.Uint64(entry.key), entry.key[timeSize], entry.key[timeSize+1:]
		p.delete(expiryBucket, entry.key)
		switch kind {
		case dialogueExpiry:
			w.dialogue(p, at, key)
		case duplicateExpiry:
			w.forget(p, key, entry.value)
		case earlyExpiry:
			p.delete(earlyBucket, key)
		case outgoingExpiry:
			w.outgoing(p, key)
		case inviteExpiry:
			w.invite(p, key)
		}
	}
	return p.err
}

// dialogue drops an expired dialogue. Of one that was used since it drops the
// answers that are over, and looks again when its time comes.
func (w *sweep) dialogue(p *putter, at uint64, phone []byte) {
	v := bytes.Clone(in(p.tx, dialogueBucket).Get(phone))
	h, err := readDialogueHead(v)
	if err != nil {
		p.err = err
		return
	}
	if v == nil || h.watched != at {
		return // an entry that was left behind
	}
	body, answers := splitDialogue(v[dialogueHeadSize:])
	list, err := answersBehind(answers, w.now)
	switch {
	case err != nil:
		p.err = err
	case h.expires != 0 && h.expires <= w.now:
		p.keepAnswers(list)
		p.delete(dialogueBucket, phone)
	default:
		last, left := uint64(0), bytes.Clone(v[:dialogueHeadSize+len(body)])
		for _, a := range list {
			last, left = max(last, a.until), appendAnswer(left, a)
		}
		if h.watched = sooner(h.expires, last); h.watched != 0 {
			p.put(expiryBucket, expiryKey(h.watched, dialogueExpiry, phone), nil)
		}
		h.put(left)
		p.put(dialogueBucket, phone, left)
	}
}

// invite drops an invitation that is no longer valid. One that was later made
// to last longer has another entry.
func (w *sweep) invite(p *putter, code []byte) {
	i, err := inviteAt(code, in(p.tx, inviteBucket).Get(code))
	if isNotFound(err) {
		return
	}
	p.err = errors.Join(p.err, err)
	if until := record.Instant(i.Expires); until != 0 && until <= w.now {
		p.delete(inviteBucket, code)
	}
}

// outgoing drops a message that needs nothing more and was kept long enough.
func (w *sweep) outgoing(p *putter, id []byte) {
	o, err := readOutgoing(p.tx, id)
	if err != nil {
		if !isNotFound(err) {
			p.err = err
		}
		return
	}
	over := record.Later(o.Changed, w.keep)
	if o.State == session.Queued {
		over = record.Later(record.Moment(w.now), w.keep) // at the soonest
	}
	if over > w.now {
		p.put(expiryBucket, expiryKey(over, outgoingExpiry, id), nil)
		return
	}
	p.dropOutgoing(&o.Outgoing)
}

// dropOutgoing takes out a message that does not wait.
func (p *putter) dropOutgoing(o *session.Outgoing) {
	p.delete(outgoingBucket, []byte(o.ID))
	p.delete(sentBucket, timed(record.Instant(o.Created), string(o.ID)))
	if o.CarrierID != "" {
		p.delete(carrierBucket, carrierKey(o.Channel, o.CarrierID))
	}
}

package bolt

import (
	"bytes"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/record"
)

// dialogueChange is the new value under a phone, and the value before.
type dialogueChange struct {
	phone []byte
	read  uint64 // the version that the turn read
	value []byte // with room for its head; nil to remove it
	head  dialogueHead
	over  uint64       // when the answer of this exchange counts no more; 0 is not known
	old   dialogueHead // set by check
}

// prepareDialogues prepares what will be stored under the phone of the exchange and, if
// the turn wrote another's dialogue, under that phone. stored is what is stored under
// the phone of the exchange now.
func (x *exchange) prepareDialogues(tx *bbolt.Tx, stored []byte) error {
	w := &x.writes
	var fresh []answer
	if x.key.Duplicate != "" {
		fresh = []answer{{key: x.answerKey, until: record.Instant(x.key.KeepUntil), reply: record.Encode(make([]byte, 0, len(w.Reply.Text)+32), &w.Reply, record.Reply)}}
	}
	own := w.Dialogue
	if own == nil && stored != nil && x.forgets(x.key.Phone) {
		own = &session.Dialogue{Phone: x.key.Phone}
	}
	if d := own; d != nil {
		if err := fits("a dialogue's phone", string(d.Phone)); err != nil {
			return err
		}
		if d.Phone != x.key.Phone {
			own = nil
			if err := x.prepareDialogue(d.Phone, d.Version, in(tx, dialogueBucket).Get([]byte(d.Phone)), d, nil); err != nil {
				return err
			}
		}
	}
	if own == nil && (stored == nil || fresh == nil) {
		x.answers = append(x.answers, fresh...)
		return nil
	}
	return x.prepareDialogue(x.key.Phone, x.read, stored, own, fresh)
}

// prepareDialogue makes what will be stored under a phone: the dialogue d, or the
// stored one if d is nil, and the answers behind it.
func (x *exchange) prepareDialogue(phone session.Phone, read uint64, stored []byte, d *session.Dialogue, fresh []answer) error {
	c := dialogueChange{phone: []byte(phone), read: read}
	h, err := readDialogueHead(stored)
	if err != nil {
		return err
	}
	var body, answers []byte
	if stored != nil {
		body, answers = splitDialogue(stored[dialogueHeadSize:])
	}
	if x.forgets(phone) {
		if answers, err = silenced(answers); err != nil {
			return err
		}
	}
	c.head.expires = h.expires
	switch {
	case d == nil:
		c.value = append(make([]byte, dialogueHeadSize, len(stored)+256), body...)
	case !d.Empty():
		c.head.expires = record.Instant(d.Expires)
		c.value = record.Encode(make([]byte, dialogueHeadSize, len(stored)+384), d, record.Dialogue)
	}
	if c.value != nil && roomFor(answers, len(fresh), x.swept) { // as nearly always
		c.value = append(c.value, answers...)
	} else {
		// The snapshot ends before they are written.
		list, err := answersBehind(bytes.Clone(answers), x.swept)
		if err != nil {
			return err
		}
		switch {
		case c.value == nil:
			x.answers = append(append(x.answers, list...), fresh...)
			fresh = nil
		case len(list)+len(fresh) > mostAnswers:
			x.answers = append(x.answers, list...)
		default:
			fresh = append(list, fresh...)
		}
	}
	for _, a := range fresh {
		c.value = appendAnswer(c.value, a)
		c.over = a.until
	}
	x.dialogues = append(x.dialogues, c)
	return nil
}

// checkDialogues refuses the write when another exchange came first: it
// answered the same message, or changed a dialogue.
func (x *exchange) checkDialogues(tx *bbolt.Tx) error {
	b := in(tx, dialogueBucket)
	var stored []byte
	if x.key.Phone != "" {
		stored = b.Get([]byte(x.key.Phone))
	}
	h, err := readDialogueHead(stored)
	if err != nil {
		return err
	}
	// Every answer to this phone gives its dialogue a new version, when it has
	// one: an unchanged one needs no second look.
	if h.version == 0 || h.version != x.read {
		reply, _, err := storedReply(tx, x.older, stored, x.answerKey, x.swept)
		if err != nil {
			return err
		}
		if reply != nil {
			x.stored = *reply
			return errAnswered
		}
	}
	if x.key.Phone != "" && h.version != x.read {
		return conflict("dialogue")
	}
	for i := range x.dialogues {
		c := &x.dialogues[i]
		if string(c.phone) != string(x.key.Phone) {
			if h, err = readDialogueHead(b.Get(c.phone)); err != nil {
				return err
			}
			if h.version != c.read {
				return conflict("dialogue")
			}
		}
		c.old, c.head.watched = h, h.watched
		// The expiry entry moves only if it would come too late: while a person talks
		// on, the sweep finds the dialogue alive and looks again later. It also looks
		// when the answers expire, to drop them.
		if e := sooner(c.head.expires, c.over); e != 0 && (h.watched == 0 || h.watched > e) {
			c.head.watched = e
		}
	}
	return nil
}

// sooner is the earlier of two instants; 0 is none.
func sooner(a, b uint64) uint64 {
	if a == 0 || b != 0 && b < a {
		return b
	}
	return a
}

func (c *dialogueChange) write(p *putter) {
	if c.old.watched != 0 && (c.old.watched != c.head.watched || c.value == nil) {
		p.delete(expiryBucket, expiryKey(c.old.watched, dialogueExpiry, c.phone))
	}
	if c.value == nil {
		p.delete(dialogueBucket, c.phone)
		return
	}
	if c.head.watched != c.old.watched {
		p.put(expiryBucket, expiryKey(c.head.watched, dialogueExpiry, c.phone), nil)
	}
	// Versions are never used twice, so that a dialogue which was removed and
	// begun anew is not taken for the one a turn has read.
	c.head.version = p.number(dialogueBucket)
	c.head.put(c.value)
	p.put(dialogueBucket, c.phone, c.value)
}

package bolt

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"sync"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/recent"
	"threshline/session/store/record"
)

// view is one transaction, as a turn sees it. The dialogue that the turn is
// about was looked up already.
type view struct {
	tx       *bbolt.Tx
	phone    session.Phone   // empty when it is about nobody
	dialogue []byte          // as stored; nil when there is none
	recall   *recent.Records // nil when all is read
}

var _ session.View = view{}

// dialogueHead precedes a stored dialogue.
type dialogueHead struct {
	version uint64
	expires uint64 // when it is let go, as an instant
	watched uint64 // when the sweep looks at it: the time of its expiry entry
}

const dialogueHeadSize = 24

func readDialogueHead(v []byte) (dialogueHead, error) {
	if v == nil {
		return dialogueHead{}, nil
	}
	if len(v) < dialogueHeadSize {
		return dialogueHead{}, fmt.Errorf("%w: a dialogue breaks off", ErrDamaged)
	}
	return dialogueHead{binary.BigEndian.Uint64(v), binary.BigEndian.Uint64(v[8:]), binary.BigEndian.Uint64(v[16:])}, nil
}

func (h dialogueHead) put(v []byte) {
	binary.BigEndian.PutUint64(v, h.version)
	binary.BigEndian.PutUint64(v[8:], h.expires)
	binary.BigEndian.PutUint64(v[16:], h.watched)
}

func (r view) Dialogue(phone session.Phone) (d session.Dialogue, err error) {
	defer readable()
	v := r.dialogue
	if phone != r.phone || phone == "" {
		v = in(r.tx, dialogueBucket).Get([]byte(phone))
	}
	h, err := readDialogueHead(v)
	if err != nil {
		return session.Dialogue{}, fmt.Errorf("bolt: dialogue: %w", err)
	}
	if v == nil {
		return session.Dialogue{Phone: phone}, nil
	}
	body, _ := splitDialogue(v[dialogueHeadSize:])
	into := dialogues.Get().(*session.Dialogue)
	err = record.Decode(body, into, record.Dialogue)
	d, *into = *into, session.Dialogue{} // nothing of a person stays behind
	dialogues.Put(into)
	if err != nil {
		return session.Dialogue{}, fmt.Errorf("bolt: dialogue: %w", err)
	}
	d.Version = h.version
	return d, nil
}

// dialogues are empty ones to decode into: an exchange would throw one away each time.
var dialogues = sync.Pool{New: func() any { return new(session.Dialogue) }}

func (r view) Person(id session.PersonID) (session.Person, error) {
	defer readable()
	return personAt([]byte(id), in(r.tx, personBucket).Get([]byte(id)))
}

func (r view) PersonByPhone(phone session.Phone) (session.Person, error) {
	defer readable()
	return r.recall.Person(phone, snapshotOf(r.tx), func() (session.Person, error) { return r.lookUp(phone) })
}

// lookUp reads who has a phone.
func (r view) lookUp(phone session.Phone) (session.Person, error) {
	id := in(r.tx, phoneBucket).Get([]byte(phone))
	if id == nil {
		return session.Person{}, fmt.Errorf("bolt: person of phone %v: %w", phone, session.ErrNotFound)
	}
	return r.Person(session.PersonID(id))
}

func (r view) Growers(agent session.PersonID) ([]session.Person, error) {
	defer readable()
	var list []session.Person
	prefix := owned(string(agent), 0)
	c := in(r.tx, growerBucket).Cursor()
	for k, _ := c.Seek(prefix); bytes.HasPrefix(k, prefix); k, _ = c.Next() {
		p, err := r.Person(session.PersonID(k[len(prefix)+4:]))
		if err != nil {
			return nil, err
		}
		list = append(list, p)
	}
	return list, nil
}

func (r view) Named(district string) ([]session.Person, error) {
	return r.Growers(session.PersonID(namedIn(district)))
}

func (r view) Coordinators() (list []session.Person, err error) {
	defer readable()
	c := in(r.tx, headBucket).Cursor()
	for id, _ := c.First(); id != nil; id, _ = c.Next() {
		p, err := r.Person(session.PersonID(id))
		if err != nil {
			return nil, err
		}
		list = append(list, p)
	}
	return list, nil
}

func (r view) Check(slip session.Slip) (session.Check, error) {
	defer readable()
	k, err := r.checkAt(in(r.tx, slipBucket).Get([]byte(slip)))
	if err != nil {
		return session.Check{}, fmt.Errorf("bolt: check %q: %w", string(slip), err)
	}
	return k, nil
}

// checkAt reads the check at a position, which may be nil.
func (r view) checkAt(position []byte) (session.Check, error) {
	if position == nil {
		return session.Check{}, session.ErrNotFound
	}
	return checkAt(position, in(r.tx, checkBucket).Get(position))
}

func (r view) ChecksOf(grower session.PersonID, n int) ([]session.Check, error) {
	defer readable()
	return r.recall.Newest(grower, n, snapshotOf(r.tx), func() ([]session.Check, error) { return r.newest(ofGrowerBucket, string(grower), n) })
}

func (r view) ChecksBy(reporter session.PersonID, n int) ([]session.Check, error) {
	defer readable()
	return r.newest(byReporterBucket, string(reporter), n)
}

// newest walks a person's checks backwards.
func (r view) newest(bucket []byte, person string, n int) ([]session.Check, error) {
	var list []session.Check
	prefix := owned(person, 0)
	beyond := bytes.Clone(prefix)
	beyond[len(beyond)-1] = 1
	c := in(r.tx, bucket).Cursor()
	for k, _ := seekBefore(c, beyond); len(list) < n && bytes.HasPrefix(k, prefix); k, _ = c.Prev() {
		check, err := r.Check(session.Slip(k[len(prefix)+timeSize:]))
		if err != nil {
			return nil, err
		}
		if list == nil {
			list = make([]session.Check, 0, min(n, 8))
		}
		list = append(list, check)
	}
	return list, nil
}

func (r view) Looked(slip session.Slip) (list []session.Reminder, err error) {
	defer readable()
	prefix := []byte(session.LookedID(slip, ""))
	c := in(r.tx, reminderBucket).Cursor()
	for k, v := c.Seek(prefix); bytes.HasPrefix(k, prefix); k, v = c.Next() {
		note, err := reminderAt(k, v)
		if err != nil {
			return nil, err
		}
		list = append(list, note)
	}
	return list, nil
}

func (r view) Invite(code string) (session.Invite, error) {
	defer readable()
	return inviteAt([]byte(code), in(r.tx, inviteBucket).Get([]byte(code)))
}

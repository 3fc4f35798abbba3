package bolt

import (
	"bytes"
	"fmt"
	"time"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/disk"
	"threshline/session/store/record"
)

// convert makes a file of a schema before inPlace one of the present schema: a
// copy in which every entry has its check sum, and answers lie under hashes. It
// takes the old one's place whole. Of other files it changes nothing.
func convert(path string, wait time.Duration) (err error) {
	defer recoverDamage(path, &err)
	defer faultsPanic()()
	from, err := bbolt.Open(path, disk.Mode, &bbolt.Options{ReadOnly: true, Timeout: wait})
	if err != nil {
		return err
	}
	defer from.Close()
	return from.View(func(tx *bbolt.Tx) error {
		if version, err := schemaOf(tx); err != nil || version >= inPlace {
			return nil // bringUpToDate says what is wrong
		}
		return disk.Replace(path, func(part string) error {
			return filled(part, func(to *bbolt.DB) error { return convertAll(tx, to) })
		})
	})
}

func convertAll(tx *bbolt.Tx, to *bbolt.DB) (err error) {
	var c converter
	if err := to.Update(func(new *bbolt.Tx) error {
		if err := initialise(new); err != nil {
			return err
		}
		secret, err := secretOf(new)
		c.hasher = record.NewHasher(secret)
		return err
	}); err != nil {
		return err
	}
	if err := copyAll(tx, to, c.entry, nil); err != nil {
		return err
	}
	return to.Update(listHeads)
}

// converter is what an entry of schemas 1 to 3 becomes.
type converter struct{ hasher *record.Hasher }

func (c converter) entry(bucket, k, v []byte) (key, value []byte, err error) {
	name := string(bucket)
	switch {
	case name == string(aboutBucket) && string(k) == string(schemaKey):
		return nil, nil, nil // initialise wrote it
	case name == string(aboutBucket):
		return k, v, nil
	case name == string(duplicateBucket):
		k = c.key(k)
	case name == string(expiryBucket) && len(k) > timeSize && k[timeSize] == duplicateExpiry:
		k, v = c.expiry(k, v)
	case name == string(dialogueBucket):
		if v, err = c.dialogue(k, v); err != nil {
			return nil, nil, fmt.Errorf("%w: a dialogue breaks off", ErrDamaged)
		}
	}
	return k, sealed(k, bytes.Clone(v)), nil
}

// key is the key of an answer. Gateways made it of channel, phone and id.
func (c converter) key(plain []byte) []byte {
	phone := session.Phone("")
	if parts := bytes.SplitN(plain, []byte("|"), 3); len(parts) == 3 && bytes.HasPrefix(parts[1], []byte("+")) {
		phone = session.Phone(parts[1])
	}
	return c.hasher.AnswerKey(session.Key{Phone: phone, Duplicate: string(plain)})
}

// expiry is an entry that says when answers are over: the first in its key, the
// others in its value, parted by zero bytes.
func (c converter) expiry(k, v []byte) (key, value []byte) {
	key = append(bytes.Clone(k[:timeSize+1]), c.key(k[timeSize+1:])...)
	for plain := range bytes.SplitSeq(v, []byte{0}) {
		if len(plain) > 0 {
			value = append(value, c.key(plain)...)
		}
	}
	return key, value
}

func (c converter) dialogue(phone, v []byte) ([]byte, error) {
	if len(v) < dialogueHeadSize {
		return nil, ErrDamaged
	}
	body, answers := splitDialogue(v[dialogueHeadSize:])
	list, err := answersBehind(answers, 0)
	out := bytes.Clone(v[:dialogueHeadSize+len(body)])
	for _, a := range list {
		a.key = c.hasher.AnswerKey(session.Key{Phone: session.Phone(phone), Duplicate: string(a.key)})
		out = appendAnswer(out, a)
	}
	return out, err
}

// listHeads makes the list of coordinators, which early files have not.
func listHeads(tx *bbolt.Tx) error {
	p := &putter{tx: tx}
	err := in(tx, personBucket).ForEach(func(id, v []byte) error {
		var person session.Person
		_, err := record.Versioned(v, &person, record.Person)
		if person.Role == session.Coordinator {
			p.put(headBucket, bytes.Clone(id), nil)
		}
		return err
	})
	if err != nil {
		return err
	}
	return p.err
}

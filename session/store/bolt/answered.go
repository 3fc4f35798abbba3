package bolt

import (
	"bytes"
	"fmt"
	"slices"
	"time"

	"go.etcd.io/bbolt"
	"google.golang.org/protobuf/encoding/protowire"

	"threshline/session"
	"threshline/session/store/record"
)

// A message that is delivered again gets the same reply as before, for as long
// as its key is kept. A record for every reply would cost each exchange one
// more page, and another for its expiry, since the keys of different phones lie
// far apart. So the last few answers to a phone are stored after its dialogue,
// which is written anyway. They move together to the duplicates bucket when
// there are too many, or when the dialogue is removed. Answers without a
// dialogue are stored there from the start.

// mostAnswers is how many answers are stored behind a dialogue. With more, dialogues
// are larger; with fewer, answers move more often. Measured.
const mostAnswers = 8

// answersField is the field number of an answer after a dialogue: higher than
// any field of a dialogue will have.
const answersField = 1000

// answer is the reply to a message, with the message's answerKey.
type answer struct {
	key   []byte
	until uint64 // when it may be forgotten; 0 is not known
	reply []byte // as encoded by record.Reply
}

// kept is an answer as it lies in the duplicates bucket, under its key. Those
// of the second schema have no until; their expiry entry says it.
type kept struct {
	reply session.Reply
	until uint64
}

const untilField = 5

func keptFields(c *record.Coder, k *kept) {
	record.Reply(c, &k.reply)
	k.until = c.Fixed(untilField, k.until)
}

// live reports whether an answer is still valid after a sweep at a time.
func live(until, swept uint64) bool { return until == 0 || until > swept }

// splitDialogue parts a dialogue, without its head, from the answers behind it.
func splitDialogue(v []byte) (dialogue, answers []byte) {
	for rest := v; len(rest) > 0; {
		num, typ, n := protowire.ConsumeTag(rest)
		if num == answersField && n > 0 {
			return v[:len(v)-len(rest)], rest
		}
		if n > 0 {
			if size := protowire.ConsumeFieldValue(num, typ, rest[n:]); size >= 0 {
				rest = rest[n+size:]
				continue
			}
		}
		break // reading the dialogue will say what is wrong with it
	}
	return v, nil
}

// appendAnswer adds an answer behind a dialogue.
func appendAnswer(b []byte, a answer) []byte {
	size := protowire.SizeTag(1) + protowire.SizeBytes(len(a.key)) +
		protowire.SizeTag(2) + protowire.SizeFixed64() +
		protowire.SizeTag(3) + protowire.SizeBytes(len(a.reply))
	b = protowire.AppendTag(b, answersField, protowire.BytesType)
	b = protowire.AppendVarint(b, uint64(size))
	b = protowire.AppendTag(b, 1, protowire.BytesType)
	b = protowire.AppendBytes(b, a.key)
	b = protowire.AppendTag(b, 2, protowire.Fixed64Type)
	b = protowire.AppendFixed64(b, a.until)
	b = protowire.AppendTag(b, 3, protowire.BytesType)
	return protowire.AppendBytes(b, a.reply)
}

// nextAnswer reads what appendAnswer wrote. What it returns shares b's memory.
func nextAnswer(b []byte) (a answer, rest []byte, err error) {
	whole, b, ok := bytesField(b, answersField)
	if ok {
		a.key, whole, ok = bytesField(whole, 1)
	}
	if ok {
		num, typ, n := protowire.ConsumeTag(whole)
		ok = num == 2 && typ == protowire.Fixed64Type && n > 0 && len(whole) >= n+protowire.SizeFixed64()
		if ok {
			a.until, _ = protowire.ConsumeFixed64(whole[n:])
			a.reply, _, ok = bytesField(whole[n+protowire.SizeFixed64():], 3)
		}
	}
	if !ok {
		return answer{}, nil, fmt.Errorf("%w: the answers of a dialogue break off", ErrDamaged)
	}
	return a, b, nil
}

// bytesField reads the field n, of bytes, at the front of b.
func bytesField(b []byte, n protowire.Number) (v, rest []byte, ok bool) {
	num, typ, size := protowire.ConsumeTag(b)
	if num != n || typ != protowire.BytesType || size < 0 {
		return nil, nil, false
	}
	v, used := protowire.ConsumeBytes(b[size:])
	if used < 0 {
		return nil, nil, false
	}
	return v, b[size+used:], true
}

// answersBehind lists a dialogue's answers that still count.
func answersBehind(answers []byte, swept uint64) ([]answer, error) {
	if len(answers) == 0 {
		return nil, nil
	}
	list := make([]answer, 0, mostAnswers+1)
	for len(answers) > 0 {
		a, rest, err := nextAnswer(answers)
		if err != nil {
			return nil, err
		}
		if live(a.until, swept) {
			list = append(list, a)
		}
		answers = rest
	}
	return list, nil
}

// silenced are answers without their words.
func silenced(answers []byte) (out []byte, err error) {
	list, err := answersBehind(answers, 0)
	for _, a := range list {
		a.reply = silent()
		out = appendAnswer(out, a)
	}
	return out, err
}

// roomFor reports whether all of a dialogue's answers are still valid and there
// is room for so many more.
func roomFor(answers []byte, more int, swept uint64) bool {
	n := more
	for ; len(answers) > 0; n++ {
		a, rest, err := nextAnswer(answers)
		if err != nil || !live(a.until, swept) {
			return false
		}
		answers = rest
	}
	return n <= mostAnswers
}

// storedReply finds the reply to an earlier delivery of the same message, and
// until when it is kept. dialogue is what is stored of the phone that sends it,
// if anything is. An older schema kept answers under the plain key of the message,
// wherever the phone is not known from it: older finds those, and is nil where none are.
func storedReply(tx *bbolt.Tx, older *record.Hasher, dialogue, key []byte, swept uint64) (reply *session.Reply, until time.Time, err error) {
	if key == nil {
		return nil, until, nil
	}
	if len(dialogue) > dialogueHeadSize {
		_, answers := splitDialogue(dialogue[dialogueHeadSize:])
		for len(answers) > 0 {
			a, rest, err := nextAnswer(answers)
			if err != nil {
				return nil, until, err
			}
			if bytes.Equal(a.key, key) && live(a.until, swept) {
				reply, _, err = readKept(a.reply, swept)
				return reply, record.Moment(a.until), err
			}
			answers = rest
		}
	}
	answers := in(tx, duplicateBucket)
	v := answers.Get(key)
	if v == nil && older != nil {
		v = answers.Get(older.NobodysKey(key))
	}
	if v == nil {
		return nil, until, nil
	}
	return readKept(v, swept)
}

// readKept reads an answer; nil when it is no longer valid.
func readKept(v []byte, swept uint64) (reply *session.Reply, until time.Time, err error) {
	var k kept
	if err := record.Decode(v, &k, keptFields); err != nil {
		return nil, until, fmt.Errorf("bolt: stored reply: %w", err)
	}
	if !live(k.until, swept) {
		return nil, until, nil
	}
	return &k.reply, record.Moment(k.until), nil
}

// keepAnswers puts answers into the duplicates bucket, with one expiry entry for all,
// which says when the last of them expires.
func (p *putter) keepAnswers(list []answer) {
	if len(list) == 0 {
		return
	}
	last := uint64(0)
	var others []byte
	for i, a := range list {
		p.putAnswer(a)
		last = max(last, a.until)
		if i > 0 {
			others = append(others, a.key...)
		}
	}
	p.put(expiryBucket, expiryKey(last, duplicateExpiry, list[0].key), others)
}

func (p *putter) putAnswer(a answer) {
	value := protowire.AppendTag(slices.Clip(a.reply), untilField, protowire.Fixed64Type)
	p.put(duplicateBucket, a.key, protowire.AppendFixed64(value, a.until))
}

// forget removes from the duplicates bucket the answers that an expiry entry
// names, except those that were given again later and have an entry of their
// own.
func (w *sweep) forget(p *putter, first, others []byte) {
	for _, key := range append([][]byte{first}, slices.Collect(slices.Chunk(others, 2*record.HashSize))...) {
		var k kept
		v := in(p.tx, duplicateBucket).Get(key)
		if err := record.Decode(v, &k, keptFields); err != nil {
			p.err = fmt.Errorf("bolt: stored reply: %w", err)
			return
		}
		if v != nil && !live(k.until, w.now) || k.until == 0 {
			p.delete(duplicateBucket, key)
		}
	}
}

// olderAnswers finds the answers that an older schema left, if it left any.
func (s *Store) olderAnswers() *record.Hasher {
	first := s.hasher.NobodysKey(make([]byte, record.HashSize))[:record.HashSize]
	none := false
	err := s.look(func(tx *bbolt.Tx) error {
		key, _ := tx.Bucket(duplicateBucket).Cursor().Seek(first)
		none = !bytes.HasPrefix(key, first)
		return nil
	})
	if err == nil && none {
		return nil
	}
	return s.hasher
}

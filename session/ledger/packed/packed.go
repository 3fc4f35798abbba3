// Package packed keeps the slip and the readings of a check, and when each came, in as
// few bytes as is simple.
package packed

import (
	"encoding/binary"
	"maps"
	"math/bits"
	"slices"

	"threshline/grading"
	"threshline/session"
)

// all are the fields there are, in working order; singles those of one number.
var (
	all     = grading.Fields()
	singles = slices.DeleteFunc(grading.Fields(), func(f grading.Field) bool { return f == grading.Moisture })
)

// packNumber appends a number of at most four decimals: most have at most two,
// and those take a byte less.
func packNumber(b []byte, d grading.Decimal) []byte {
	if d%100 == 0 {
		return binary.AppendVarint(b, int64(d/100)<<1)
	}
	return binary.AppendVarint(b, int64(d)<<1|1)
}

// What the head of packed readings says is there beside the fields.
const (
	packValues = 1 << iota
	packWords
	packFlags
	packClass
	packPaces
	packNotLooked
	packLooked
	packMeter
)

// Append appends a check's readings, and when each came, in as few bytes as is
// simple: about 60 for a whole check by hand.
func Append(b []byte, c *session.Check) []byte {
	r := &c.Readings
	var fields grading.FieldSet
	for _, f := range singles {
		if r.Has(f) {
			fields = fields.With(f)
		}
	}
	head := uint64(0)
	mark := func(has bool, bit uint64) {
		if has {
			head |= bit
		}
	}
	mark(len(r.Values) > 0, packValues)
	mark(len(r.Words) > 0, packWords)
	mark(len(r.Flags) > 0, packFlags)
	mark(r.Class != "", packClass)
	mark(len(c.Paces) > 0 || c.At.After(c.Started) && !c.Started.IsZero(), packPaces)
	mark(r.Looked == grading.NotLooked, packNotLooked)
	mark(r.Looked == grading.WasLooked, packLooked)
	mark(r.Meter != grading.Meter{}, packMeter)
	b = binary.AppendUvarint(b, head)
	b = binary.AppendUvarint(b, uint64(fields))
	b = binary.AppendUvarint(b, uint64(len(r.Repeats)))
	for _, d := range r.Repeats {
		b = packNumber(b, d)
	}
	for _, f := range singles {
		if d, ok := r.Get(f); ok {
			if f.Kind() == grading.CountField && d%grading.One == 0 {
				b = binary.AppendVarint(b, int64(d/grading.One)<<1)
			} else if f.Kind() == grading.CountField {
				b = binary.AppendVarint(b, int64(d)<<1|1)
			} else {
				b = packNumber(b, d)
			}
		}
	}
	return packRest(b, head, c)
}

func packRest(b []byte, head uint64, c *session.Check) []byte {
	r := &c.Readings
	if head&packValues != 0 {
		b = binary.AppendUvarint(b, uint64(len(r.Values)))
		for _, id := range slices.Sorted(maps.Keys(r.Values)) {
			b = packNumber(packWord(b, string(id)), r.Values[id])
		}
	}
	if head&packWords != 0 {
		b = binary.AppendUvarint(b, uint64(len(r.Words)))
		for _, id := range slices.Sorted(maps.Keys(r.Words)) {
			b = packWord(packWord(b, string(id)), r.Words[id])
		}
	}
	if head&packFlags != 0 {
		b = binary.AppendUvarint(b, uint64(len(r.Flags)))
		for _, f := range r.Flags {
			b = packWord(b, string(f))
		}
	}
	if head&packClass != 0 {
		b = packWord(b, r.Class)
	}
	if m := &r.Meter; head&packMeter != 0 {
		b = packNumber(packNumber(packWord(b, m.Name), m.Bias), m.Doubt)
		b = append(b, map[bool]byte{true: 1}[m.Checked])
	}
	if head&packPaces == 0 {
		return b
	}
	b = binary.AppendUvarint(b, uint64(max(0, c.At.Unix()-c.Started.Unix())))
	var set grading.FieldSet
	for f := range c.Paces {
		if f < grading.FieldEnd {
			set = set.With(f)
		}
	}
	b = binary.AppendUvarint(b, uint64(set))
	for _, f := range all {
		if set.Has(f) {
			b = binary.AppendUvarint(b, uint64(max(0, c.Paces[f])))
		}
	}
	return b
}

func packWord(b []byte, w string) []byte {
	return append(binary.AppendUvarint(b, uint64(len(w))), w...)
}

// Paces is when the readings of a check came, in seconds from its start.
type Paces struct {
	Known bool
	Whole int                   // to filing
	At    [grading.FieldEnd]int // -1 for a field that has no time
}

// Reader reads what Append wrote. It keeps its space from check to check.
type Reader struct {
	b       []byte
	r       grading.Readings
	repeats []grading.Decimal
	paces   Paces
}

func (u *Reader) unsigned() uint64 {
	v, n := binary.Uvarint(u.b)
	u.b = u.b[max(n, 0):]
	return v
}

func (u *Reader) number(small grading.Decimal) grading.Decimal {
	v, n := binary.Varint(u.b)
	u.b = u.b[max(n, 0):]
	if v&1 == 0 {
		return grading.Decimal(v>>1) * small
	}
	return grading.Decimal(v >> 1)
}

func (u *Reader) word() string {
	n := u.unsigned()
	w := string(u.b[:n])
	u.b = u.b[n:]
	return w
}

// Paces is when the readings came that were read last.
func (u *Reader) Paces() *Paces { return &u.paces }

// Readings are those that begin b; they hold until the next call.
func (u *Reader) Readings(b []byte) *grading.Readings {
	u.b = b
	u.r = grading.Readings{}
	head, fields := u.unsigned(), grading.FieldSet(u.unsigned())
	u.repeats = u.repeats[:0]
	for range u.unsigned() {
		u.repeats = append(u.repeats, u.number(100))
	}
	if len(u.repeats) > 0 {
		u.r.Repeats = u.repeats
	}
	for _, f := range singles {
		if !fields.Has(f) {
			continue
		}
		if f.Kind() == grading.CountField {
			u.r.Set(f, u.number(grading.One))
		} else {
			u.r.Set(f, u.number(100))
		}
	}
	switch {
	case head&packLooked != 0:
		u.r.Looked = grading.WasLooked
	case head&packNotLooked != 0:
		u.r.Looked = grading.NotLooked
	}
	u.rest(head)
	return &u.r
}

func (u *Reader) rest(head uint64) {
	if head&packValues != 0 {
		u.r.Values = map[grading.ParameterID]grading.Decimal{}
		for range u.unsigned() {
			id := grading.ParameterID(u.word())
			u.r.Values[id] = u.number(100)
		}
	}
	if head&packWords != 0 {
		u.r.Words = map[grading.ParameterID]string{}
		for range u.unsigned() {
			id := grading.ParameterID(u.word())
			u.r.Words[id] = u.word()
		}
	}
	if head&packFlags != 0 {
		for range u.unsigned() {
			u.r.Flags = append(u.r.Flags, grading.Flag(u.word()))
		}
	}
	if head&packClass != 0 {
		u.r.Class = u.word()
	}
	if head&packMeter != 0 {
		u.r.Meter = grading.Meter{Name: u.word(), Bias: u.number(100), Doubt: u.number(100), Checked: u.unsigned() == 1}
	}
	u.paces.Known = head&packPaces != 0
	if !u.paces.Known {
		return
	}
	u.paces.Whole = int(u.unsigned())
	set := grading.FieldSet(u.unsigned())
	for _, f := range all {
		u.paces.At[f] = -1
		if set.Has(f) {
			u.paces.At[f] = int(u.unsigned())
		}
	}
}

// Slip makes a number under 1<<63 of a slip of at most eight letters of ASCII; false
// of any other.
func Slip(s session.Slip) (key uint64, ok bool) {
	if len(s) > 8 {
		return 0, false
	}
	for i := range len(s) {
		if s[i] >= 0x80 || s[i] == 0 {
			return 0, false
		}
		key = key<<8 | uint64(s[i])
	}
	return key, true
}

// SlipOf is the inverse of Slip.
func SlipOf(key uint64) session.Slip {
	var b [8]byte
	binary.BigEndian.PutUint64(b[:], key)
	return session.Slip(b[bits.LeadingZeros64(key)/8:])
}

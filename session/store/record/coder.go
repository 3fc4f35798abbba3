package record

import (
	"fmt"
	"math"
	"time"

	"google.golang.org/protobuf/encoding/protowire"
)

// Coder writes or reads one record, field by field, in the protocol buffers
// wire format: numbered fields, zero ones left out. One function per type
// names its fields once and serves both directions. It names them in
// ascending order, so that reading needs no look-up: what is not at the front
// is not there. A field that a later version added is passed over.
type Coder struct {
	reading bool
	buf     []byte // what was written, or what is left to read
	str     string // when reading, the same bytes as a string: texts share it
	num     protowire.Number
	typ     protowire.Type
	err     error
}

// Encode appends v, described by fields, to buf.
func Encode[T any](buf []byte, v *T, fields func(*Coder, *T)) []byte {
	c := Coder{buf: buf}
	fields(&c, v)
	return c.buf
}

// Decode reads what Encode wrote. The error wraps ErrDamaged.
func Decode[T any](buf []byte, v *T, fields func(*Coder, *T)) error {
	c := Coder{reading: true, buf: buf, str: string(buf)}
	c.next()
	fields(&c, v)
	return c.err
}

func (c *Coder) advance(n int) {
	if n < 0 || n > len(c.buf) {
		if c.err == nil {
			c.err = fmt.Errorf("%w: a record breaks off", ErrDamaged)
		}
		n = len(c.buf)
	}
	c.buf, c.str = c.buf[n:], c.str[n:]
}

// next reads the tag at the front, or none at the end.
func (c *Coder) next() {
	c.num, c.typ = 0, 0
	if len(c.buf) == 0 || c.err != nil {
		return
	}
	num, typ, n := protowire.ConsumeTag(c.buf)
	c.advance(n)
	if c.err == nil {
		c.num, c.typ = num, typ
	}
}

// at reports whether field n, of the wire type, is at the front; it passes over
// what comes before.
func (c *Coder) at(n protowire.Number, typ protowire.Type) bool {
	for c.num != 0 && (c.num < n || c.num == n && c.typ != typ) {
		c.advance(protowire.ConsumeFieldValue(c.num, c.typ, c.buf))
		c.next()
	}
	return c.num == n
}

func (c *Coder) varint(n protowire.Number, v int64) int64 {
	if c.reading {
		if !c.at(n, protowire.VarintType) {
			return v
		}
		u, size := protowire.ConsumeVarint(c.buf)
		c.advance(size)
		c.next()
		return protowire.DecodeZigZag(u)
	}
	if v != 0 {
		c.buf = protowire.AppendTag(c.buf, n, protowire.VarintType)
		c.buf = protowire.AppendVarint(c.buf, protowire.EncodeZigZag(v))
	}
	return v
}

// Fixed is a field of 64 bits. Zero is left out.
func (c *Coder) Fixed(n protowire.Number, v uint64) uint64 {
	if c.reading {
		if !c.at(n, protowire.Fixed64Type) {
			return v
		}
		u, size := protowire.ConsumeFixed64(c.buf)
		c.advance(size)
		c.next()
		return u
	}
	if v != 0 {
		c.buf = protowire.AppendTag(c.buf, n, protowire.Fixed64Type)
		c.buf = protowire.AppendFixed64(c.buf, v)
	}
	return v
}

// Text is a field of words. Empty is left out.
func Text[T ~string](c *Coder, n protowire.Number, v *T) {
	if c.reading {
		if c.at(n, protowire.BytesType) {
			*v = T(c.consumeText())
		}
		return
	}
	if *v != "" {
		c.appendText(n, string(*v))
	}
}

func (c *Coder) consumeText() string {
	size, n := protowire.ConsumeVarint(c.buf)
	c.advance(n)
	if size > uint64(len(c.buf)) {
		size = 0
		c.advance(-1)
	}
	s := c.str[:size]
	c.advance(int(size))
	c.next()
	return s
}

func (c *Coder) appendText(n protowire.Number, s string) {
	c.buf = protowire.AppendTag(c.buf, n, protowire.BytesType)
	c.buf = protowire.AppendString(c.buf, s)
}

// whole is a whole number.
func whole[T ~int | ~int64 | ~uint8 | ~uint16 | ~uint64](c *Coder, n protowire.Number, v *T) {
	*v = T(c.varint(n, int64(*v)))
}

// truth is a yes or no.
func truth(c *Coder, n protowire.Number, v *bool) {
	var i int64
	if *v {
		i = 1
	}
	*v = c.varint(n, i) != 0
}

// fraction is a number that is not exact.
func fraction(c *Coder, n protowire.Number, v *float64) {
	*v = math.Float64frombits(c.Fixed(n, math.Float64bits(*v)))
}

// clock is a point in time, to the nanosecond, in UTC.
func clock(c *Coder, n protowire.Number, v *time.Time) {
	if u := c.Fixed(n, Instant(*v)); c.reading {
		*v = Moment(u)
	}
}

// nested is a record in the record. One that is all zero is left out.
func nested[T any](c *Coder, n protowire.Number, v *T, fields func(*Coder, *T)) {
	if c.reading {
		if c.at(n, protowire.BytesType) {
			inside(c, v, fields)
		}
		return
	}
	start := c.open(n)
	fields(c, v)
	c.closeOrDrop(n, start)
}

// inside reads the nested record at the front.
func inside[T any](c *Coder, v *T, fields func(*Coder, *T)) {
	rest := c.enter()
	fields(c, v)
	c.leave(rest)
}

// outside is what follows a nested record.
type outside struct {
	buf []byte
	str string
}

// enter narrows the coder to the nested record at the front until leave.
func (c *Coder) enter() outside {
	size, n := protowire.ConsumeVarint(c.buf)
	c.advance(n)
	if size > uint64(len(c.buf)) {
		size = 0
		c.advance(-1)
	}
	rest := outside{c.buf[size:], c.str[size:]}
	c.buf, c.str = c.buf[:size], c.str[:size]
	c.next()
	return rest
}

func (c *Coder) leave(rest outside) {
	c.buf, c.str = rest.buf, rest.str
	c.next()
}

// open starts a nested record and returns where its fields begin. One byte is
// left for the length: most are short.
func (c *Coder) open(n protowire.Number) int {
	c.buf = protowire.AppendTag(c.buf, n, protowire.BytesType)
	c.buf = append(c.buf, 0)
	return len(c.buf)
}

// closeOrDrop is close, but takes a record without fields out again.
func (c *Coder) closeOrDrop(n protowire.Number, start int) {
	if len(c.buf) == start {
		c.buf = c.buf[:start-1-protowire.SizeTag(n)]
		return
	}
	c.close(start)
}

// close writes the length of what was added since open.
func (c *Coder) close(start int) {
	size := len(c.buf) - start
	if size < 0x80 {
		c.buf[start-1] = byte(size)
		return
	}
	extra := protowire.SizeVarint(uint64(size)) - 1
	for range extra {
		c.buf = append(c.buf, 0)
	}
	copy(c.buf[start+extra:], c.buf[start:start+size])
	protowire.AppendVarint(c.buf[:start-1], uint64(size))
}

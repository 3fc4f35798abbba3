package record

import (
	"encoding/binary"
	"slices"

	"google.golang.org/protobuf/encoding/protowire"
)

// texts is a list of words; an empty list is read back as nil.
func texts[T ~string](c *Coder, n protowire.Number, v *[]T) {
	if !c.reading {
		for _, s := range *v {
			c.appendText(n, string(s))
		}
		return
	}
	for c.at(n, protowire.BytesType) {
		if *v == nil {
			*v = make([]T, 0, 4)
		}
		*v = append(*v, T(c.consumeText()))
	}
}

// renamedTexts is a list of texts of which one had another name in records written
// before: a sign that is stored is never lost to a new name.
func renamedTexts[T ~string](c *Coder, n protowire.Number, v *[]T, was, is T) {
	texts(c, n, v)
	for i := range *v {
		if c.reading && (*v)[i] == was {
			(*v)[i] = is
		}
	}
}

// each is a list of records.
func each[T any](c *Coder, n protowire.Number, v *[]T, fields func(*Coder, *T)) {
	if !c.reading {
		for i := range *v {
			start := c.open(n)
			fields(c, &(*v)[i])
			c.close(start)
		}
		return
	}
	if *v == nil && c.at(n, protowire.BytesType) {
		*v = make([]T, 0, c.alike())
	}
	for c.at(n, protowire.BytesType) {
		*v = append(*v, *new(T))
		inside(c, &(*v)[len(*v)-1], fields)
	}
}

// table is a map, as a list of records of a key and a value. Its order is not kept.
func table[K comparable, V any](c *Coder, n protowire.Number, v *map[K]V, key func(*Coder, protowire.Number, *K), value func(*Coder, protowire.Number, *V)) {
	if len(*v) == 0 && (!c.reading || !c.at(n, protowire.BytesType)) {
		return
	}
	var e entry[K, V] // one for all, since it cannot stay on the stack
	if !c.reading {
		for e.key, e.value = range *v {
			start := c.open(n)
			key(c, 1, &e.key)
			value(c, 2, &e.value)
			c.close(start)
		}
		return
	}
	if *v == nil {
		*v = make(map[K]V, c.alike())
	}
	for c.at(n, protowire.BytesType) {
		e = entry[K, V]{}
		rest := c.enter()
		key(c, 1, &e.key)
		value(c, 2, &e.value)
		c.leave(rest)
		(*v)[e.key] = e.value
	}
}

// alike counts the fields with the number of the one at the front that stand
// side by side.
func (c *Coder) alike() (n int) {
	num, typ, rest := c.num, c.typ, c.buf
	for num == c.num && typ == c.typ {
		n++
		size := protowire.ConsumeFieldValue(num, typ, rest)
		if size < 0 {
			break
		}
		rest = rest[size:]
		if num, typ, size = protowire.ConsumeTag(rest); size < 0 {
			break
		}
		rest = rest[size:]
	}
	return n
}

type entry[K comparable, V any] struct {
	key   K
	value V
}

// numbers is a list of whole numbers; an empty list is read back as nil.
func numbers[T ~int | ~int64 | ~uint8](c *Coder, n protowire.Number, v *[]T) {
	if !c.reading {
		start := c.open(n)
		for _, i := range *v {
			c.buf = protowire.AppendVarint(c.buf, protowire.EncodeZigZag(int64(i)))
		}
		c.closeOrDrop(n, start)
		return
	}
	if !c.at(n, protowire.BytesType) {
		return
	}
	size, used := protowire.ConsumeVarint(c.buf)
	c.advance(used)
	if *v == nil && size > 0 {
		*v = make([]T, 0, 4)
	}
	for end := len(c.buf) - int(min(size, uint64(len(c.buf)))); len(c.buf) > end && c.err == nil; {
		u, used := protowire.ConsumeVarint(c.buf)
		c.advance(used)
		*v = append(*v, T(protowire.DecodeZigZag(u)))
	}
	c.next()
}

// fingerprints is a list of 64-bit numbers without order or size.
func fingerprints(c *Coder, n protowire.Number, v *[]uint64) {
	if !c.reading {
		if len(*v) > 0 {
			start := c.open(n)
			for _, u := range *v {
				c.buf = binary.LittleEndian.AppendUint64(c.buf, u)
			}
			c.close(start)
		}
		return
	}
	if !c.at(n, protowire.BytesType) {
		return
	}
	s := c.consumeText()
	if len(s) >= 8 {
		*v = slices.Grow(*v, len(s)/8+2) // a turn adds two
	}
	for ; len(s) >= 8; s = s[8:] {
		*v = append(*v, binary.LittleEndian.Uint64([]byte(s[:8])))
	}
}

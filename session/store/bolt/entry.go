package bolt

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"

	"go.etcd.io/bbolt"
)

// Every entry but those of aboutBucket has a check sum behind its value, of key
// and value, which is looked at whenever the entry is read: a bit that a disk
// lost is never taken for what was stored.

const sumSize = 4

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// sealed is a value with its sum.
func sealed(key, value []byte) []byte {
	return binary.BigEndian.AppendUint32(value, sumOf(key, value))
}

func sumOf(key, value []byte) uint32 {
	return crc32.Update(crc32.Checksum(key, castagnoli), castagnoli, value)
}

// unsealed is a value without its sum. What it returns shares v's memory and
// has no room behind it. It panics with a rotten.
func unsealed(bucket, key, v []byte) []byte {
	n := len(v) - sumSize
	if n < 0 || binary.BigEndian.Uint32(v[n:]) != sumOf(key, v[:n]) {
		panic(&rotten{bucket: bucket, key: append([]byte(nil), key...)})
	}
	return v[:n:n]
}

// rotten is an entry that differs from what was stored. Since any read can meet
// one, it is raised as a panic, and leaves the store as the cause of a Fault.
type rotten struct{ bucket, key []byte }

// Error does not name the key, which may be a telephone number.
func (r *rotten) Error() string {
	return fmt.Sprintf("%v: an entry of %q has another check sum", ErrDamaged, r.bucket)
}

// Unwrap makes it damage.
func (r *rotten) Unwrap() error { return ErrDamaged }

// causeOf is what a recovered panic says.
func causeOf(r any) error {
	switch r := r.(type) {
	case unreadable:
		return causeOf(r.value)
	case error:
		return r
	}
	return errors.New(fmt.Sprint(r))
}

// shelf is a bucket whose entries have sums.
type shelf struct {
	*bbolt.Bucket
	name []byte
}

func in(tx *bbolt.Tx, bucket []byte) shelf { return shelf{tx.Bucket(bucket), bucket} }

// Get is the value under a key; nil when there is none.
func (s shelf) Get(key []byte) []byte {
	v := s.Bucket.Get(key)
	if v == nil {
		return nil
	}
	return unsealed(s.name, key, v)
}

// ForEach goes through all entries.
func (s shelf) ForEach(fn func(k, v []byte) error) error {
	return s.Bucket.ForEach(func(k, v []byte) error { return fn(k, unsealed(s.name, k, v)) })
}

// Cursor walks the entries.
func (s shelf) Cursor() cursor { return cursor{s.Bucket.Cursor(), s.name} }

type cursor struct {
	on   *bbolt.Cursor
	name []byte
}

func (c cursor) read(k, v []byte) (key, value []byte) {
	if k == nil {
		return nil, nil
	}
	return k, unsealed(c.name, k, v)
}

func (c cursor) First() (k, v []byte)          { return c.read(c.on.First()) }
func (c cursor) Last() (k, v []byte)           { return c.read(c.on.Last()) }
func (c cursor) Next() (k, v []byte)           { return c.read(c.on.Next()) }
func (c cursor) Prev() (k, v []byte)           { return c.read(c.on.Prev()) }
func (c cursor) Seek(key []byte) (k, v []byte) { return c.read(c.on.Seek(key)) }

package record

import (
	"encoding/binary"
	"errors"
	"fmt"
	"time"

	"threshline/session"
)

// What keeps bytes from being read.
var (
	// ErrDamaged: parts of them are not what was written.
	ErrDamaged = errors.New("damaged")
	// ErrNewer: a later version of the program wrote them.
	ErrNewer = errors.New("written by a later version")
)

// VersionSize is the length of a version, in bytes.
const VersionSize = 8

// Version reads the version before a stored record; 0 when there is none.
func Version(v []byte) uint64 {
	if len(v) < VersionSize {
		return 0
	}
	return binary.BigEndian.Uint64(v)
}

// Versioned decodes a record that follows its version.
func Versioned[T any](v []byte, out *T, fields func(*Coder, *T)) (version uint64, err error) {
	if v == nil {
		return 0, session.ErrNotFound
	}
	if len(v) < VersionSize {
		return 0, fmt.Errorf("%w: a record breaks off", ErrDamaged)
	}
	return Version(v), Decode(v[VersionSize:], out, fields)
}

// Instant turns a time into a number that sorts as times do. The zero time,
// which stands for "none", sorts before all. Good for the years 1678 to 2262.
func Instant(t time.Time) uint64 {
	if t.IsZero() {
		return 0
	}
	return uint64(t.UnixNano()) ^ 1<<63
}

// Later is the instant d after t; that of "none" when t is none.
func Later(t time.Time, d time.Duration) uint64 {
	if t.IsZero() {
		return 0
	}
	return Instant(t.Add(d))
}

// Moment is the inverse of Instant.
func Moment(n uint64) time.Time {
	if n == 0 {
		return time.Time{}
	}
	return time.Unix(0, int64(n^1<<63)).UTC()
}

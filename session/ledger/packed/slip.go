package packed

import (
	"encoding/binary"
	"math/bits"

	"threshline/session"
)

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

package gsm

import "unicode/utf16"

// Lengths of a message and of one part of a longer one, in septets for the
// 7-bit alphabet and in 16-bit units for UCS-2. A part gives 6 octets to a
// header with an 8-bit reference. Source: [TS-23.040 §9.2.3.24.1].
const (
	SingleSeptets = 160
	PartSeptets   = 153
	SingleUnits   = 70
	PartUnits     = 67
)

// MaxUSSDSeptets is the longest text of one USSD message: 160 octets hold 182
// septets. Source: [TS-23.038], [TS-29.002 §17.7.4].
const MaxUSSDSeptets = 182

// Count gives a text's length in septets, escape pairs as two, and whether
// the 7-bit alphabet has all its letters; those it lacks count as one.
func Count(s string) (septets int, ok bool) {
	ok = true
	for _, r := range s {
		w := width(r)
		if w == 0 {
			w, ok = 1, false
		}
		septets += w
	}
	return septets, ok
}

// Units gives a text's length in 16-bit units, as UCS-2 counts: letters
// outside the basic plane, such as emoji, are two.
func Units(s string) (n int) {
	for _, r := range s {
		n += units(r)
	}
	return n
}

func units(r rune) int { return max(utf16.RuneLen(r), 1) }

// Segments gives the length of each message that a text is sent as: in septets if the
// 7-bit alphabet has all its letters, otherwise in 16-bit units. An escape pair or a
// surrogate pair is never split, so there may be more segments than the lengths alone
// would give. An empty text has no segments.
func Segments(s string) (lengths []int) {
	if s == "" {
		return nil
	}
	total, ok := Count(s)
	size, single, part := width, SingleSeptets, PartSeptets
	if !ok {
		total, size, single, part = Units(s), units, SingleUnits, PartUnits
	}
	if total <= single {
		return []int{total}
	}
	length := 0
	for _, r := range s {
		w := size(r)
		if length+w > part {
			lengths, length = append(lengths, length), 0
		}
		length += w
	}
	return append(lengths, length)
}

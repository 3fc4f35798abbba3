package session

import "strings"

// slipLetters are the characters of slips and codes: digits and capitals
// without 0 O 1 I L, which are mistaken for each other. There are 31 of them,
// a prime, so that a weighted sum catches what people get wrong.
const slipLetters = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"

// slipLength is how many characters a slip has, the last the check character.
const slipLength = 7

// codeLength is how many characters an invitation code has, likewise.
const codeLength = 6

// checkLetter is the check character of a body. The body weighs 7, 6, ... 2 for
// a slip, the check itself 1; all weights and their neighbours' differences
// are non-zero modulo 31, so one wrong character or one swap of two
// neighbours always changes the sum. The proof is in the tests.
func checkLetter(body string) byte {
	sum := 0
	for i := range len(body) {
		sum += (len(body) + 1 - i) * strings.IndexByte(slipLetters, body[i])
	}
	return slipLetters[(len(slipLetters)-sum%len(slipLetters))%len(slipLetters)]
}

// NewSlip makes a slip from random bits. It holds at least one letter and one
// digit, so that neither a number nor a name is ever taken for one.
func NewSlip(entropy uint64) Slip {
	for {
		s := newCode(entropy, slipLength)
		if mixed(s) {
			return Slip(s)
		}
		entropy = scramble(entropy)
	}
}

// NewPersonID makes a person's identifier from random bits.
func NewPersonID(entropy uint64) PersonID { return PersonID(newCode(entropy, 12)) }

// NewOutgoingID makes an outgoing message's identifier from random bits.
func NewOutgoingID(entropy uint64) OutgoingID { return OutgoingID("m-" + newCode(entropy, 12)) }

// NewInviteCode makes an invitation code from random bits.
func NewInviteCode(entropy uint64) string { return newCode(entropy, codeLength) }

func newCode(entropy uint64, length int) string {
	var body []byte
	for len(body) < length-1 {
		body = append(body, slipLetters[entropy%uint64(len(slipLetters))])
		entropy /= uint64(len(slipLetters))
	}
	return string(append(body, checkLetter(string(body))))
}

func mixed(s string) bool {
	return strings.ContainsAny(s, "23456789") && strings.Trim(s, "23456789") != ""
}

// ParseSlip reads a slip as people write it: in any case, with spaces and
// hyphens. The second value is false if the text is not a slip.
func ParseSlip(text string) (Slip, bool) {
	s, ok := readCode(text, slipLength)
	return Slip(s), ok && mixed(s)
}

// LooksLikeSlip reports whether a text has the shape of a slip, right or wrong:
// seven letters and digits, both kinds among them.
func LooksLikeSlip(text string) bool {
	if len(text) < slipLength { // most entries: a key or two
		return false
	}
	s := squeeze(text)
	if len(s) != slipLength || !strings.ContainsAny(s, "0123456789") {
		return false
	}
	letters := 0
	for i := range len(s) {
		switch c := s[i]; {
		case c >= 'A' && c <= 'Z':
			letters++
		case c < '0' || c > '9':
			return false
		}
	}
	return letters > 0
}

// ParseCode reads an invitation code, as forgivingly as ParseSlip.
func ParseCode(text string) (string, bool) { return readCode(text, codeLength) }

func readCode(text string, length int) (string, bool) {
	s := squeeze(text)
	if len(s) != length {
		return "", false
	}
	for i := range len(s) {
		if strings.IndexByte(slipLetters, s[i]) < 0 {
			return "", false
		}
	}
	return s, checkLetter(s[:length-1]) == s[length-1]
}

// squeeze brings a slip to its plain form. People write it in at most two
// parts: more parts are readings or words, and it returns "".
func squeeze(text string) string {
	if len(text) > 4*slipLength {
		return ""
	}
	parts := strings.FieldsFunc(PlainDigits(text), func(r rune) bool { return r == ' ' || r == '-' || r == '\n' })
	if len(parts) > 2 {
		return ""
	}
	return strings.ToUpper(strings.Join(parts, ""))
}

// scramble is one step of a splitmix64 generator: it spreads entropy over as
// many values as a turn needs. Source: common practice, no source.
func scramble(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

package gsm

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"threshline/grading"
)

// Plain cleans what came in before anybody reads it. Control and direction characters
// go; line ends, tabs and odd spaces become a space; full-width letters and digits of
// other scripts become ASCII, as do typographic apostrophes, quotes and dashes. Letters
// keep their marks.
func Plain(s string) string {
	if clean(s) {
		return s
	}
	// Cleaned before and after: what is removed may have parted a letter from its mark,
	// and the whole letter may itself be an odd form.
	return plainRunes(norm.NFC.String(plainRunes(s)))
}

func plainRunes(s string) string {
	var out strings.Builder
	out.Grow(len(s))
	for _, r := range s {
		if r, keep := plainRune(r); keep {
			out.WriteRune(r)
		}
	}
	return out.String()
}

// clean reports whether a text is nothing but printable ASCII.
func clean(s string) bool {
	for _, b := range []byte(s) {
		if b < ' ' || b > '~' || b == '`' {
			return false
		}
	}
	return true
}

func plainRune(r rune) (plain rune, keep bool) {
	if d, ok := grading.PlainDigit(r); ok {
		return d, true
	}
	switch {
	case r > '！'-1 && r <= '～': // the full-width forms of ASCII
		return r - '！' + '!', true
	case unicode.IsSpace(r):
		return ' ', true
	case unicode.In(r, unicode.Cc, unicode.Cf, unicode.Co, unicode.Cs), r == unicode.ReplacementChar:
		return 0, false
	}
	if p := plainForm[r]; len(p) == 1 && unicode.In(r, unicode.P, unicode.S, unicode.Lm) && !unicode.IsLetter(rune(p[0])) {
		return rune(p[0]), true
	}
	return r, true
}

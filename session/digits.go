package session

import (
	"strings"
	"unicode"

	"threshline/grading"
)

// PlainDigits returns the entry in lower case, with every kind of digit and
// decimal mark replaced by the plain one.
func PlainDigits(s string) string {
	return strings.Map(func(r rune) rune {
		if plain, ok := grading.PlainDigit(r); ok {
			return plain
		}
		switch {
		case r == '٫', r == '．':
			return '.'
		case r == '٬', r == '，', r == '،':
			return ','
		case r == '％', r == '٪':
			return '%'
		case r == '−', r == '–', r == '—', r == '－':
			return '-'
		case r == '\u200b', r == '\u200e', r == '\u200f', r == '\ufeff':
			return -1
		}
		return unicode.ToLower(r)
	}, s)
}

// PlainName is a name as it is looked for: in small plain letters, everything
// else a space.
func PlainName(name string) string {
	return strings.Map(func(r rune) rune {
		if plain := PlainLetter(r); plain != 0 {
			r = plain
		}
		if !unicode.IsLetter(r) {
			return ' '
		}
		return unicode.ToLower(r)
	}, name)
}

// PlainLetter is the plain form of a letter that basic phones lack; 0 for others.
func PlainLetter(r rune) rune {
	const from, to = "âãáçêëíîïóôõúûýÂÃÁÊËÍÎÏÓÔÕÚÛɓɗƙƴƁƊƘ’ʼ", "aaaceeiiiooouuyAAAEEIIIOOOUUbdkyBDK''"
	plain := []rune(to)
	i := 0
	for _, f := range from {
		if f == r && i < len(plain) {
			return plain[i]
		}
		i++
	}
	return 0
}

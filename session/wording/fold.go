package wording

import (
	"strings"
	"unicode"

	"threshline/grading"
)

// foldFrom lists letters and foldTo the plain ones people type instead, place
// by place. How people type them: common practice, no source; that writers of
// Hausa use plain b d k y is read [NIAMEY-BLOG].
const (
	foldFrom = "àáâãäåāçćéèêëēîïíìīñńôöóòõōûüúùūÿýɓɗƙƴ"
	foldTo   = "aaaaaaacceeeeeiiiiinnoooooouuuuuyybdky"
)

// foldTable is foldFrom to foldTo, by rune.
var foldTable = func() map[rune]rune {
	m := map[rune]rune{}
	to := []rune(foldTo)
	i := 0
	for _, r := range foldFrom {
		m[r] = to[i]
		i++
	}
	return m
}()

// Fold brings what is typed to the form that words are compared in: lower
// case, no accents, no apostrophes, plain digits for Arabic-Indic and
// full-width ones, single spaces. In Hausa q, x and v also stand for the
// hooked k, d and b, as one daily prints them.
func Fold(lang, s string) string {
	if plain(s) && lang != "ha" {
		return s
	}
	var out strings.Builder
	out.Grow(len(s))
	space := false
	for _, r := range strings.ToLower(s) {
		r = foldRune(lang, r)
		if r == 0 {
			continue
		}
		if r == ' ' {
			space = out.Len() > 0
			continue
		}
		if space {
			out.WriteByte(' ')
			space = false
		}
		switch r {
		case 'œ':
			out.WriteString("oe")
		case 'æ':
			out.WriteString("ae")
		default:
			out.WriteRune(r)
		}
	}
	return out.String()
}

// plain reports whether folding would change nothing.
func plain(s string) bool {
	for i, b := range []byte(s) {
		letter := b >= 'a' && b <= 'z' || b >= '0' && b <= '9'
		space := b == ' ' && i > 0 && i < len(s)-1 && s[i-1] != ' '
		if !letter && !space && b != '.' {
			return false
		}
	}
	return true
}

func foldRune(lang string, r rune) rune {
	if plain, ok := grading.PlainDigit(r); ok {
		return plain
	}
	switch {
	case r >= 0x300 && r <= 0x36f: // combining accents
		return 0
	case unicode.IsSpace(r) || unicode.IsControl(r):
		return ' '
	}
	switch r {
	case '\'', '’', '‘', 'ʼ', '`', '´', '\u200b', '\u200e', '\u200f', '\ufeff':
		return 0
	case '٫': // Arabic decimal mark
		return '.'
	case '،':
		return ','
	}
	if plain, ok := foldTable[r]; ok {
		return plain
	}
	if lang == "ha" {
		switch r {
		case 'q':
			return 'k'
		case 'x':
			return 'd'
		case 'v':
			return 'b'
		}
	}
	return r
}

package gsm

import (
	_ "embed"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"threshline/grading"
)

// foldData lists plain forms, one a line: the plain form, then the letters
// and marks that it stands for. Source: common practice, no source, except
// the Hausa letters, which are read [NIAMEY-BLOG]; speakers should look at it.
//
//go:embed fold.txt
var foldData string

// plainForm is foldData by letter; it is constant.
var plainForm = readFold(foldData)

// readFold skips a line with a fault; a test holds that there is none.
func readFold(data string) map[rune]string {
	m := map[rune]string{}
	for line := range strings.Lines(data) {
		line = strings.TrimRight(line, "\r\n")
		if line == "" || strings.HasPrefix(line, "# ") {
			continue
		}
		plain, letters, ok := strings.Cut(line, "\t")
		if !ok {
			continue
		}
		if plain == "NOTHING" {
			plain = ""
		}
		for letter := range strings.FieldsSeq(letters) {
			for _, r := range letter {
				m[r] = plain
			}
		}
	}
	return m
}

// Fold brings a text to what a basic phone can show, so that no stray letter
// turns it into UCS-2: letters of the 7-bit alphabet stay, others get their
// plain form, or lose their marks, or become a question mark.
func Fold(s string) string {
	if _, ok := Count(s); ok {
		return s
	}
	var out strings.Builder
	out.Grow(len(s))
	for _, r := range norm.NFC.String(s) {
		if width(r) > 0 {
			out.WriteRune(r)
			continue
		}
		out.WriteString(foldLetter(r))
	}
	return out.String()
}

// foldLetter is the plain form of one letter that the alphabet lacks.
func foldLetter(r rune) string {
	if plain, ok := plainForm[r]; ok {
		return plain
	}
	if unicode.In(r, unicode.Mn, unicode.Cf, unicode.Cc) {
		return ""
	}
	if unicode.IsSpace(r) {
		return " "
	}
	if d, ok := grading.PlainDigit(r); ok {
		return string(d)
	}
	var out strings.Builder
	for _, part := range norm.NFKD.String(string(r)) {
		switch plain, known := plainForm[part]; {
		case unicode.Is(unicode.Mn, part):
		case width(part) > 0:
			out.WriteRune(part)
		case known:
			out.WriteString(plain)
		default:
			return "?"
		}
	}
	return out.String()
}

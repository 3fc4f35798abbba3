package ask

import (
	"strings"

	"threshline/grading"
	"threshline/session/talk"
)

// Whole is the number 1 in the unit of readings.
const Whole = grading.One

// First returns the entry's first word, and after the rest of it.
func First(entry string) string {
	word, _, _ := strings.Cut(strings.TrimSpace(entry), " ")
	return word
}

// After is what comes after the first word.
func After(entry string) string {
	_, rest, _ := strings.Cut(strings.TrimSpace(entry), " ")
	return strings.TrimSpace(rest)
}

// Values takes the plain values of what was typed.
func Values(all []talk.Typed) []grading.Decimal {
	var out []grading.Decimal
	for _, one := range all {
		out = append(out, one.Value)
	}
	return out
}

// Typed turns values back into an entry, for the next screen.
func Typed(all []grading.Decimal) string {
	var out []string
	for _, v := range all {
		out = append(out, v.String())
	}
	return strings.Join(out, " ")
}

// Example writes an example entry the way the language writes numbers.
func Example(t *talk.Talk, numbers ...string) string {
	var out []string
	for _, n := range numbers {
		out = append(out, t.Words.Number(string(t.Language), n))
	}
	return strings.Join(out, " ")
}

// Misread says why an entry could not be read as numbers.
func Misread(t *talk.Talk, why talk.Misread, like string) talk.Move {
	return talk.Refuse(t.Say("wrong."+string(why), "like", like))
}

// IntOf is a whole number that fits an int; false for a fraction.
func IntOf(d grading.Decimal) (int, bool) { return int(d / Whole), d%Whole == 0 }

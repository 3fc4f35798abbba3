package screen

import (
	"strconv"
	"strings"

	"threshline/grading"
	"threshline/session/talk"
)

// whole is the number 1 in the unit of readings.
const whole = grading.One

// first returns the entry's first word, and after the rest of it.
func first(entry string) string {
	word, _, _ := strings.Cut(strings.TrimSpace(entry), " ")
	return word
}

func after(entry string) string {
	_, rest, _ := strings.Cut(strings.TrimSpace(entry), " ")
	return strings.TrimSpace(rest)
}

// values takes the plain values of what was typed.
func values(all []talk.Typed) []grading.Decimal {
	var out []grading.Decimal
	for _, one := range all {
		out = append(out, one.Value)
	}
	return out
}

// typed turns values back into an entry, for the next screen.
func typed(all []grading.Decimal) string {
	var out []string
	for _, v := range all {
		out = append(out, v.String())
	}
	return strings.Join(out, " ")
}

// example writes an example entry the way the language writes numbers.
func example(t *talk.Talk, numbers ...string) string {
	var out []string
	for _, n := range numbers {
		out = append(out, t.Words.Number(string(t.Language), n))
	}
	return strings.Join(out, " ")
}

// misread says why an entry could not be read as numbers.
func misread(t *talk.Talk, why talk.Misread, like string) talk.Move {
	return talk.Refuse(t.Say("wrong."+string(why), "like", like))
}

func itoa(n int) string { return strconv.Itoa(n) }

// intOf is a whole number that fits an int; false for a fraction.
func intOf(d grading.Decimal) (int, bool) { return int(d / whole), d%whole == 0 }

package paper

import (
	"strconv"
	"sync"

	"threshline/session/wording"
)

// english is the catalogue of the phone's texts: the desk speaks English, and
// writes its numbers as the phone does.
var english = sync.OnceValue(func() *wording.Catalogue {
	c, err := wording.Embedded()
	if err != nil {
		return &wording.Catalogue{} // a test finds texts that cannot be read
	}
	return c
})

// Number writes a plain number ("13.8", "12000") as the phone does in English.
func Number(s string) string { return english().Number("en", s) }

// Figure is a number with so many decimals.
func Figure(f float64, decimals int) string {
	return Number(strconv.FormatFloat(f, 'f', decimals, 64))
}

// Count is a whole number.
func Count(n int) string { return Number(strconv.Itoa(n)) }

// InPercent is a number that is in percent already.
func InPercent(number string) string { return number + english().Text("en", "unit.percent") }

// Percent is a fraction of 1 in percent: whole, or with a decimal under ten.
func Percent(f float64) string {
	if p := f * 100; p > 0 && p < 9.95 {
		return InPercent(Figure(p, 1))
	}
	return InPercent(Figure(f*100, 0))
}

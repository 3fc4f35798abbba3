package talk

import (
	"slices"
	"strings"
	"unicode"

	"threshline/grading"
	"threshline/session"
)

// Typed is one number as a person typed it.
type Typed struct {
	Value grading.Decimal
	// Thousands says that the number had one comma and three digits after it
	// ("1,200"): Value reads it as thousands, Small as a decimal comma.
	Thousands bool
	Small     grading.Decimal
	// Percent says that a percent sign stood behind it, Kilos that kg did, Plus that a
	// plus sign stood between it and the number before.
	Percent, Kilos, Plus bool
}

// Misread says why an entry is not a list of numbers.
type Misread string

// The reasons of a misreading. The zero value is none.
const (
	NotNumber Misread = "number"   // a word or a sign where a number belongs
	Negative  Misread = "negative" // a minus sign
	TooLong   Misread = "long"     // more text than numbers can need
	Nothing   Misread = "nothing"  // an empty entry
)

// maxTyped is the most characters that an entry of numbers may hold: one SMS.
const maxTyped = 160

// typedUnits may stand after a number, with or without a space, and are
// ignored.
var typedUnits = []string{"kgs", "kg", "kilos", "kilo", "grams", "gram", "gr", "gm", "g", "pct", "%"}

// ReadNumbers reads the numbers in an entry, forgivingly: decimal point or
// comma, percent sign and units behind, the letter O for zero, Arabic-Indic
// and full-width digits, any spacing. It refuses what cannot be a reading (a
// minus sign, a word, a picture) and says why; it never guesses.
func ReadNumbers(entry string) ([]Typed, Misread) {
	if len(entry) > 4*maxTyped || len([]rune(entry)) > maxTyped {
		return nil, TooLong
	}
	var all []Typed
	plus := false
	for _, token := range strings.FieldsFunc(strings.ReplaceAll(session.PlainDigits(entry), "+", " + "), separates) {
		if token == "+" {
			plus = len(all) > 0
			continue
		}
		token = strings.TrimRight(strings.TrimLeft(token, ":"), ",:.") // a mark in front is a decimal mark: ".5"
		if token == "" || slices.Contains(typedUnits, token) {
			if len(all) > 0 && token != "" {
				all[len(all)-1].unit(token)
			}
			continue
		}
		read, why := readToken(token)
		if why != "" {
			return nil, why
		}
		read[0].Plus, plus = plus, false
		all = append(all, read...)
	}
	if len(all) == 0 {
		return nil, Nothing
	}
	return all, ""
}

func separates(r rune) bool {
	return unicode.IsSpace(r) || r == ';' || r == '/' || r == '&' || r == '='
}

// readToken reads what stands between two spaces: one number, or several
// joined by commas where points mark the decimals ("13.8,14.1").
func readToken(token string) ([]Typed, Misread) {
	if strings.HasPrefix(token, "-") {
		return nil, Negative
	}
	if strings.Contains(token, "-") {
		return nil, NotNumber
	}
	bare, unit := trimUnit(token)
	if strings.Count(bare, ",") > 0 && strings.Contains(bare, ".") || strings.Count(bare, ",") > 1 {
		return readJoined(bare, unit)
	}
	one, ok := readOne(bare)
	if !ok {
		return nil, NotNumber
	}
	one.unit(unit)
	return []Typed{one}, ""
}

// readJoined reads "13.8,14.1,13.9" and "8,75,600": commas that cannot be
// decimal marks separate the numbers.
func readJoined(bare, unit string) ([]Typed, Misread) {
	var all []Typed
	before := "."
	for _, part := range strings.Split(bare, ",") {
		part, own := trimUnit(part)
		one, ok := readOne(part)
		whole, _, _ := strings.Cut(part, ".")
		if thousands := len(whole) == 3 && !strings.Contains(before, "."); !ok || thousands {
			return nil, NotNumber // "1,200.5" may be one number or two
		}
		one.unit(unit)
		one.unit(own)
		all, before = append(all, one), part
	}
	return all, ""
}

func trimUnit(token string) (bare, unit string) {
	for _, unit := range typedUnits {
		if cut, ok := strings.CutSuffix(token, unit); ok && cut != "" {
			return cut, unit
		}
	}
	return token, ""
}

// unit notes the unit that stood behind a number.
func (n *Typed) unit(unit string) {
	n.Percent = n.Percent || unit == "%" || unit == "pct"
	n.Kilos = n.Kilos || strings.HasPrefix(unit, "k")
}

// readOne reads one number with at most one decimal mark.
func readOne(s string) (Typed, bool) {
	if strings.ContainsAny(s, "0123456789") || strings.Trim(s, "o.,") == "" {
		s = strings.ReplaceAll(s, "o", "0")
	}
	whole, tail, comma := strings.Cut(s, ",")
	if comma {
		small, ok := parseTyped(whole + "." + tail)
		if !ok {
			return Typed{}, false
		}
		if len(tail) != 3 || whole == "0" || whole == "" {
			return Typed{Value: small, Small: small}, true
		}
		big, ok := parseTyped(whole + tail)
		return Typed{Value: big, Small: small, Thousands: true}, ok
	}
	d, ok := parseTyped(s)
	return Typed{Value: d, Small: d}, ok
}

// parseTyped reads plain notation and drops decimals beyond the fourth: no
// hand tool shows them.
func parseTyped(s string) (grading.Decimal, bool) {
	if strings.HasPrefix(s, ".") {
		s = "0" + s
	}
	whole, tail, point := strings.Cut(s, ".")
	whole = strings.TrimLeft(whole, "0")
	if whole == "" && len(s) > 0 && s[0] == '0' {
		whole = "0"
	}
	if point {
		if tail == "" {
			return 0, false
		}
		if len(tail) > 4 {
			if strings.Trim(tail, "0123456789") != "" {
				return 0, false
			}
			tail = tail[:4]
		}
		s = whole + "." + tail
	} else {
		s = whole
	}
	d, err := grading.ParseDecimal(s)
	return d, err == nil && d >= 0
}

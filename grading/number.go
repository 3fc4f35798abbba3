package grading

import (
	"cmp"
	"errors"
	"fmt"
	"math/bits"
	"strconv"
	"strings"
)

// Decimal is an exact number in ten-thousandths of its unit: a weight of 2.4 g
// is 24000, a moisture of 13.8 % is 138000. Four decimals are one more than
// the finest limit of any table shipped (0.175 %, [EU-1272 Annex II]).
type Decimal int64

// One is the Decimal 1.
const One Decimal = 10000

// decimalPlaces is how many decimals a Decimal carries.
const decimalPlaces = 4

// maxWholeDigits keeps parsed numbers far from overflow in later products.
const maxWholeDigits = 9

// ErrNumber is wrapped by every error of ParseDecimal.
var ErrNumber = errors.New("grading: not a number")

// NewDecimal returns whole as a Decimal.
func NewDecimal(whole int) Decimal { return Decimal(whole) * One }

// ParseDecimal reads plain decimal notation with a point: "13.8", "0.24",
// "-1". At most nine whole digits and four decimals are accepted, so that
// nothing is rounded on the way in. It is the strict reader of files and
// configuration; what a person types goes through the dialogue's own reader.
// Errors wrap ErrNumber.
func ParseDecimal(s string) (Decimal, error) {
	digits, negative := strings.CutPrefix(s, "-")
	whole, fraction, point := strings.Cut(digits, ".")
	if whole == "" || len(whole) > maxWholeDigits || !allDigits(whole) {
		return 0, fmt.Errorf("%w: %q", ErrNumber, strings.Clone(s)) // so that s need not be on the heap
	}
	if point && (fraction == "" || len(fraction) > decimalPlaces || !allDigits(fraction)) {
		return 0, fmt.Errorf("%w: %q (at most %d decimals)", ErrNumber, strings.Clone(s), decimalPlaces)
	}
	n := Decimal(0)
	for _, c := range []byte(whole) {
		n = 10*n + Decimal(c-'0')
	}
	for i := range decimalPlaces {
		n *= 10
		if i < len(fraction) {
			n += Decimal(fraction[i] - '0')
		}
	}
	if negative {
		n = -n
	}
	return n, nil
}

func allDigits(s string) bool {
	for _, c := range []byte(s) {
		if c < '0' || c > '9' {
			return false
		}
	}
	return true
}

// String gives the shortest plain notation: "13.8", "14", "0.175".
func (d Decimal) String() string {
	s := d.Fixed(decimalPlaces)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// Fixed gives d with exactly places decimals (0 to 4), rounded half up.
func (d Decimal) Fixed(places int) string {
	var room [24]byte // more than any has
	return string(d.AppendFixed(room[:0], places))
}

// AtLeast gives d with places decimals (0 to 4), or with as many as it has.
func (d Decimal) AtLeast(places int) string {
	for places < decimalPlaces && d.Round(places) != d {
		places++
	}
	return d.Fixed(places)
}

// AppendFixed appends Fixed to b.
func (d Decimal) AppendFixed(b []byte, places int) []byte {
	n := int64(d.Round(places))
	if n < 0 {
		b, n = append(b, '-'), -n
	}
	b = strconv.AppendInt(b, n/int64(One), 10)
	if places == 0 {
		return b
	}
	b = append(b, '.')
	for rest, digit := n%int64(One), int64(One/10); places > 0; places, digit = places-1, digit/10 {
		b = append(b, byte('0'+rest/digit%10))
	}
	return b
}

// Round rounds half up (away from zero) to places decimals, 0 to 4.
// Source: [CFR-868 §868.308], "6.36 to 6.4, 0.35 to 0.4, 2.45 to 2.5".
func (d Decimal) Round(places int) Decimal {
	step := Decimal(1)
	for i := places; i < decimalPlaces; i++ {
		step *= 10
	}
	half := step / 2
	if d < 0 {
		return -((-d + half) / step * step)
	}
	return (d + half) / step * step
}

// Sum adds up.
func Sum(list []Decimal) (sum Decimal) {
	for _, d := range list {
		sum += d
	}
	return sum
}

// Float is d as a float64, for the statistics only: grading never compares it.
func (d Decimal) Float() float64 { return float64(d) / float64(One) }

// Over is the exact quotient d/e. It panics when e is zero: callers check the
// reading first.
func (d Decimal) Over(e Decimal) Ratio { return NewRatio(int64(d), int64(e)) }

// Ratio is d as an exact fraction.
func (d Decimal) Ratio() Ratio {
	if d == 0 {
		return Ratio{}
	}
	return NewRatio(int64(d), int64(One))
}

// MarshalText writes String, so that JSON and TOML carry numbers as text.
func (d Decimal) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText is ParseDecimal.
func (d *Decimal) UnmarshalText(b []byte) (err error) {
	*d, err = ParseDecimal(string(b))
	return err
}

// Ratio is an exact fraction in lowest terms with a positive denominator. The
// zero value is 0/1. Values of parameters stay Ratios until they are shown, so
// that a limit is compared with what was measured and not with its rounding.
type Ratio struct{ num, den int64 }

// NewRatio is num/den in lowest terms. It panics when den is zero.
func NewRatio(num, den int64) Ratio {
	if den == 0 {
		panic("grading: ratio with a zero denominator")
	}
	if den < 0 {
		num, den = -num, -den
	}
	if g := gcd(num, den); g > 1 {
		num, den = num/g, den/g
	}
	return Ratio{num, den}
}

func gcd(a, b int64) int64 {
	if a < 0 {
		a = -a
	}
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func (r Ratio) parts() (num, den int64) {
	if r.den == 0 {
		return 0, 1
	}
	return r.num, r.den
}

// Add is r+s: exact while the result in lowest terms fits into 64 bits, which
// the bounds of readings and of standards see to; rounded to the billionth
// beyond.
func (r Ratio) Add(s Ratio) Ratio {
	a, b := r.parts()
	c, d := s.parts()
	switch {
	case a == 0:
		return s
	case c == 0:
		return r
	}
	g := gcd(b, d)
	x, ok1 := product(a, d/g)
	y, ok2 := product(c, b/g)
	num, ok3 := plus(x, y)
	den, ok4 := product(b/g, d)
	if !(ok1 && ok2 && ok3 && ok4) {
		return wideAdd(a, b, c, d)
	}
	return NewRatio(num, den)
}

// plus is Add that leaves a sum which fits as it comes, for comparing only:
// finding lowest terms takes longer than all the rest.
func (r Ratio) plus(s Ratio) Ratio {
	a, b := r.parts()
	c, d := s.parts()
	switch {
	case a == 0:
		return Ratio{c, d}
	case b == d:
		if num, ok := plus(a, c); ok {
			return Ratio{num, b}
		}
	default:
		x, ok1 := product(a, d)
		y, ok2 := product(c, b)
		num, ok3 := plus(x, y)
		den, ok4 := product(b, d)
		if ok1 && ok2 && ok3 && ok4 {
			return Ratio{num, den}
		}
	}
	return r.lowest().Add(s.lowest())
}

// lowest is r in lowest terms.
func (r Ratio) lowest() Ratio {
	if r.den == 0 {
		return r
	}
	return NewRatio(r.num, r.den)
}

// Sub is r-s.
func (r Ratio) Sub(s Ratio) Ratio { return r.Add(s.neg()) }

func (r Ratio) neg() Ratio {
	n, d := r.parts()
	return Ratio{-n, d}
}

// Mul is r*s, as exact as Add.
func (r Ratio) Mul(s Ratio) Ratio {
	a, b := r.parts()
	c, d := s.parts()
	g, h := max(gcd(a, d), 1), max(gcd(c, b), 1)
	num, ok1 := timesSigned(a/g, c/h)
	den, ok2 := product(b/h, d/g)
	if !(ok1 && ok2) {
		return wideMul(a, b, c, d)
	}
	return NewRatio(num, den)
}

// Percent is r*100.
func (r Ratio) Percent() Ratio { return r.Mul(Ratio{100, 1}) }

// Cmp compares r with a limit exactly: -1 under, 0 at, +1 over.
func (r Ratio) Cmp(d Decimal) int { return r.CmpRatio(Ratio{int64(d), int64(One)}) }

// CmpRatio compares two fractions exactly, with 128-bit products.
func (r Ratio) CmpRatio(s Ratio) int {
	a, b := r.parts()
	c, d := s.parts()
	if sa, sc := cmp.Compare(a, 0), cmp.Compare(c, 0); sa != sc || sa == 0 {
		return cmp.Compare(sa, sc)
	}
	lh, ll := bits.Mul64(magnitude(a), uint64(d))
	rh, rl := bits.Mul64(magnitude(c), uint64(b))
	order := cmp.Compare(lh, rh)
	if order == 0 {
		order = cmp.Compare(ll, rl)
	}
	if a < 0 {
		return -order
	}
	return order
}

func magnitude(n int64) uint64 {
	if n < 0 {
		return uint64(-n)
	}
	return uint64(n)
}

// Round rounds once, half up (away from zero), to places decimals, 0 to 4.
// Source: [CFR-868 §868.308].
func (r Ratio) Round(places int) Decimal {
	n, d := r.parts()
	scale := uint64(1)
	for range places {
		scale *= 10
	}
	hi, lo := bits.Mul64(magnitude(n), scale*2)
	lo, carry := bits.Add64(lo, uint64(d), 0)
	q, _ := bits.Div64(hi+carry, lo, uint64(d)*2)
	out := Decimal(q)
	for i := places; i < decimalPlaces; i++ {
		out *= 10
	}
	if n < 0 {
		return -out
	}
	return out
}

// Signed is r rounded to four decimals, with a plus before what is above 0.
func (r Ratio) Signed() string {
	text := r.Round(decimalPlaces).String()
	if r.Cmp(0) > 0 {
		text = "+" + text
	}
	return text
}

// RoundTo rounds once, half up, to a multiple of step, over 0.
func (r Ratio) RoundTo(step Decimal) Decimal {
	for places, unit := 0, One; places <= decimalPlaces; places, unit = places+1, unit/10 {
		if unit == step {
			return r.Round(places)
		}
	}
	return r.Mul(NewRatio(int64(One), int64(step))).Round(0) / One * step
}

// Float is r as a float64, for the statistics only.
func (r Ratio) Float() float64 {
	n, d := r.parts()
	return float64(n) / float64(d)
}

// Rounding is what sums in floating point may be off by: figures that are closer
// count as equal.
const Rounding = 1e-9

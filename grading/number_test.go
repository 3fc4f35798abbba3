package grading_test

import (
	"encoding/json"
	"errors"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"threshline/grading"
)

func dec(t testing.TB, s string) grading.Decimal {
	t.Helper()
	d, err := grading.ParseDecimal(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// Source: [CFR-868 §868.308], the regulation's own examples (W1).
func TestRoundingOfTheRegulation(t *testing.T) {
	for _, row := range []struct{ in, want string }{
		{"6.36", "6.4"}, {"0.35", "0.4"}, {"2.45", "2.5"}, {"8.34", "8.3"}, {"1.22", "1.2"},
	} {
		d := dec(t, row.in)
		if got := d.Round(1).String(); got != row.want {
			t.Errorf("%s rounds to %s, want %s", row.in, got, row.want)
		}
		if got := d.Ratio().Round(1).String(); got != row.want {
			t.Errorf("%s as a fraction rounds to %s, want %s", row.in, got, row.want)
		}
		if got := d.Fixed(1); got != row.want {
			t.Errorf("%s is shown as %s, want %s", row.in, got, row.want)
		}
	}
}

func TestParseDecimal(t *testing.T) {
	for _, row := range []struct {
		in   string
		want grading.Decimal
	}{
		{"0", 0}, {"13.8", 138000}, {"0.24", 2400}, {"-1", -10000}, {"-0.0001", -1},
		{"0.175", 1750}, {"007", 70000}, {"999999999.9999", 9999999999999},
	} {
		if got := dec(t, row.in); got != row.want {
			t.Errorf("%q is %d, want %d", row.in, got, row.want)
		}
	}
	for _, bad := range []string{"", "-", ".", "1.", ".5", "+1", "1e3", "1,5", " 1", "1 ", "0x1", "--1",
		"1.00001", "1234567890", "NaN", "٣", "1.2.3"} {
		if d, err := grading.ParseDecimal(bad); !errors.Is(err, grading.ErrNumber) {
			t.Errorf("%q gave %v and %v, want an ErrNumber", bad, d, err)
		}
	}
}

func TestDecimalNotation(t *testing.T) {
	for _, row := range []struct {
		d      grading.Decimal
		plain  string
		places int
		fixed  string
	}{
		{0, "0", 2, "0.00"}, {grading.NewDecimal(14), "14", 0, "14"}, {138000, "13.8", 2, "13.80"},
		{1750, "0.175", 2, "0.18"}, {-1750, "-0.175", 2, "-0.18"}, {-1, "-0.0001", 4, "-0.0001"},
		{9999, "0.9999", 3, "1.000"}, {5000, "0.5", 0, "1"}, {4999, "0.4999", 0, "0"},
	} {
		if got := row.d.String(); got != row.plain {
			t.Errorf("%d is written %q, want %q", row.d, got, row.plain)
		}
		if got := row.d.Fixed(row.places); got != row.fixed {
			t.Errorf("%d with %d decimals is %q, want %q", row.d, row.places, got, row.fixed)
		}
	}
}

func TestDecimalAsText(t *testing.T) {
	b, err := json.Marshal(dec(t, "2.4"))
	if err != nil || string(b) != `"2.4"` {
		t.Errorf("got %s, %v", b, err)
	}
	var d grading.Decimal
	if err := json.Unmarshal(b, &d); err != nil || d != 24000 {
		t.Errorf("got %d, %v", d, err)
	}
	if err := d.UnmarshalText([]byte("two")); !errors.Is(err, grading.ErrNumber) {
		t.Errorf("got %v", err)
	}
}

func TestRatioPanicsOnlyOnAZeroDenominator(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("a zero denominator did not panic")
		}
	}()
	grading.NewRatio(1, 0)
}

func TestRatioComparesExactly(t *testing.T) {
	third := grading.NewDecimal(1).Over(grading.NewDecimal(3))
	if third.Cmp(dec(t, "0.3333")) != 1 || third.Cmp(dec(t, "0.3334")) != -1 {
		t.Error("a third is not between 0.3333 and 0.3334")
	}
	if got := dec(t, "2.0").Over(grading.NewDecimal(200)).Percent(); got.Cmp(grading.One) != 0 {
		t.Errorf("2 g of 200 g is %v, want exactly 1 %%", got)
	}
	var zero grading.Ratio
	if zero.Cmp(0) != 0 || zero.Float() != 0 || zero.Round(2) != 0 {
		t.Error("the zero value is not nought")
	}
}

// Fractions against the standard library's own, over the range that readings
// can reach.
func TestRatioAgreesWithBigRationals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		num := rapid.Int64Range(-2_000_000, 2_000_000)
		den := rapid.Int64Range(1, 1_000_000)
		a, b, c, d := num.Draw(t, "a"), den.Draw(t, "b"), num.Draw(t, "c"), den.Draw(t, "d")
		r, s := grading.NewRatio(a, b), grading.NewRatio(c, d)
		x, y := big.NewRat(a, b), big.NewRat(c, d)
		for name, pair := range map[string]struct {
			got  grading.Ratio
			want *big.Rat
		}{
			"add": {r.Add(s), new(big.Rat).Add(x, y)},
			"sub": {r.Sub(s), new(big.Rat).Sub(x, y)},
			"mul": {r.Mul(s), new(big.Rat).Mul(x, y)},
			"pct": {r.Percent(), new(big.Rat).Mul(x, big.NewRat(100, 1))},
		} {
			want := grading.NewRatio(pair.want.Num().Int64(), pair.want.Denom().Int64())
			if pair.got.CmpRatio(want) != 0 {
				t.Fatalf("%s of %d/%d and %d/%d", name, a, b, c, d)
			}
		}
		if got, want := r.CmpRatio(s), x.Cmp(y); got != want {
			t.Fatalf("%d/%d against %d/%d: %d, want %d", a, b, c, d, got, want)
		}
		places := rapid.IntRange(0, 4).Draw(t, "places")
		if got, want := r.Round(places).Fixed(places), halfUp(x, places); got != want {
			t.Fatalf("%d/%d to %d places: %s, want %s", a, b, places, got, want)
		}
	})
}

// Where the exact result no longer fits, it is right to the billionth.
func TestRatioBeyondSixtyFourBits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		num := rapid.Int64Range(-1<<39, 1<<39)
		den := rapid.Int64Range(1<<30, 1<<40)
		nearInAll(t, num.Draw(t, "a"), den.Draw(t, "b"), num.Draw(t, "c"), den.Draw(t, "d"))
	})
	for _, c := range [][4]int64{
		{1, 1 << 30, -1, 1 << 33}, // the product's denominator is the first that does not fit, and rounds to nought
		{1, 1 << 30, 1, 1 << 33},
		{-1, 1 << 31, -1, 1 << 32},
		{1 << 39, 1<<40 - 1, -1 << 39, 1<<40 - 3},
		{1, 1<<62 - 1, -1, 1<<62 - 3},
		{0, 1 << 40, -1, 1<<40 - 1},
	} {
		nearInAll(t, c[0], c[1], c[2], c[3])
	}
}

// nearInAll compares a/b and c/d added, subtracted and multiplied.
func nearInAll(t rapid.TB, a, b, c, d int64) {
	r, s := grading.NewRatio(a, b), grading.NewRatio(c, d)
	x, y := big.NewRat(a, b), big.NewRat(c, d)
	near(t, r.Add(s), new(big.Rat).Add(x, y))
	near(t, r.Sub(s), new(big.Rat).Sub(x, y))
	near(t, r.Mul(s), new(big.Rat).Mul(x, y))
}

// near fails unless got is want, to half a billionth where want does not fit.
func near(t rapid.TB, got grading.Ratio, want *big.Rat) {
	if want.Num().IsInt64() && want.Denom().IsInt64() {
		if got.CmpRatio(grading.NewRatio(want.Num().Int64(), want.Denom().Int64())) != 0 {
			t.Fatalf("%v is not exactly %v", got, want)
		}
		return
	}
	if billionths := got.Mul(grading.NewRatio(1_000_000_000, 1)); billionths.Round(0).String() != halfUp(new(big.Rat).Mul(want, big.NewRat(1_000_000_000, 1)), 0) {
		t.Fatalf("%v is not %v to the billionth", got, want.FloatString(12))
	}
}

// halfUp rounds away from zero at one half, as big.Rat's own notation does.
func halfUp(x *big.Rat, places int) string {
	s := x.FloatString(places)
	if zero, ok := new(big.Rat).SetString(s); ok && zero.Sign() == 0 && s[0] == '-' {
		return s[1:]
	}
	return s
}

func TestDecimalRoundTrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := grading.Decimal(rapid.Int64Range(-9_999_999_999_999, 9_999_999_999_999).Draw(t, "d"))
		if back, err := grading.ParseDecimal(d.String()); err != nil || back != d {
			t.Fatalf("%d became %q became %d (%v)", d, d.String(), back, err)
		}
		if d.Ratio().Round(4) != d || d.Round(4) != d {
			t.Fatalf("%d changes when rounded to its own decimals", d)
		}
	})
}

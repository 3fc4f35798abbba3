package ledger

import (
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"threshline/grading"
	"threshline/session"
)

// TestReadingsUnpackAsTheyWere: whatever a check may hold, and when each
// reading came, comes back from its bytes.
func TestReadingsUnpackAsTheyWere(t *testing.T) {
	const seed = 12
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 1))
	c := &chunk{}
	var checks []session.Check
	for i := range 3000 {
		k := anyCheck(rng)
		checks = append(checks, k)
		put(&c.offset, i, uint32(len(c.packed)))
		c.packed = pack(c.packed, &k)
	}
	var u unpacker
	for i := range checks {
		want := &checks[i]
		if got := u.readings(c, i); !reflect.DeepEqual(*got, want.Readings) {
			t.Fatalf("%d: %+v, want %+v", i, *got, want.Readings)
		}
		if !u.paces.known {
			if len(want.Paces) > 0 {
				t.Fatalf("%d: the paces are gone", i)
			}
			continue
		}
		if whole := int(want.At.Sub(want.Started) / time.Second); u.paces.whole != whole {
			t.Fatalf("%d: took %d s, want %d", i, u.paces.whole, whole)
		}
		for _, f := range all {
			at, ok := want.Paces[f]
			if !ok {
				at = -1
			}
			if u.paces.at[f] != at {
				t.Fatalf("%d: %s came at %d, want %d", i, f, u.paces.at[f], at)
			}
		}
	}
	if each := len(c.packed) / len(checks); each > 200 {
		t.Errorf("%d bytes a check", each)
	}
}

func anyCheck(rng *rand.Rand) (c session.Check) {
	any := func() grading.Decimal {
		return grading.Decimal(rng.Int64N([]int64{10, 1000, 1_000_000, 1 << 40}[rng.IntN(4)])-5) * []grading.Decimal{1, 100, 10000}[rng.IntN(3)]
	}
	for range rng.IntN(5) {
		c.Readings.Repeats = append(c.Readings.Repeats, any())
	}
	for _, f := range singles {
		if rng.IntN(2) == 0 {
			c.Readings.Set(f, any())
		}
	}
	if rng.IntN(3) == 0 {
		c.Readings.Values = map[grading.ParameterID]grading.Decimal{"red": any(), "moisture": any()}
		c.Readings.Words = map[grading.ParameterID]string{"colour": "grey or \x00 rosy", "": ""}
		c.Readings.Flags = []grading.Flag{grading.Musty, "own"}
		c.Readings.Class = "long_b"
	}
	if rng.IntN(2) == 0 {
		c.At = time.Unix(1_800_000_000, 0)
		c.Started = c.At.Add(-time.Duration(1+rng.IntN(100_000)) * time.Second)
		c.Paces = map[grading.Field]int{}
		for _, f := range all {
			if rng.IntN(2) == 0 {
				c.Paces[f] = rng.IntN(100_000)
			}
		}
	}
	return c
}

func TestSlipsKeepTheirLetters(t *testing.T) {
	b := newBooks(nil)
	seen := map[uint64]session.Slip{}
	for _, s := range []session.Slip{"", "A", "7KQ2M9X", "EIGHT888", "longer than eight", "né", "a\x00b", "7kq2m9x", "longer than eighty"} {
		key := b.slipKey(s)
		b.share()
		if got := b.slip(key); got != s {
			t.Errorf("%q comes back as %q", s, got)
		}
		if o, taken := seen[key]; taken {
			t.Errorf("%q and %q share a key", s, o)
		}
		seen[key] = s
	}
}

func TestDaysAndWeeksAreTheZones(t *testing.T) {
	east := time.FixedZone("EAT", 3*3600)
	for _, c := range []struct{ at, day, monday string }{
		{"2026-11-22T20:59:59Z", "2026-11-22", "2026-11-16"}, // a Sunday, for another second
		{"2026-11-22T21:00:00Z", "2026-11-23", "2026-11-23"},
		{"1970-01-01T00:00:00Z", "1970-01-01", "1969-12-29"},
		{"2028-02-29T12:00:00Z", "2028-02-29", "2028-02-28"},
	} {
		at, err := time.Parse(time.RFC3339, c.at)
		if err != nil {
			t.Fatal(err)
		}
		day := dayOf(at, east)
		if got := dayName(int(day)); got != c.day {
			t.Errorf("%s is on %s, want %s", c.at, got, c.day)
		}
		if got := dayName(int(weekOf(day))*7 - 3); got != c.monday {
			t.Errorf("%s is in the week of %s, want %s", c.at, got, c.monday)
		}
	}
}

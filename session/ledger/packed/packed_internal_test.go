package packed

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
	var (
		packed []byte
		offset []int
	)
	var checks []session.Check
	for range 3000 {
		k := anyCheck(rng)
		checks = append(checks, k)
		offset = append(offset, len(packed))
		packed = Append(packed, &k)
	}
	var u Reader
	for i := range checks {
		want := &checks[i]
		if got := u.Readings(packed[offset[i]:]); !reflect.DeepEqual(*got, want.Readings) {
			t.Fatalf("%d: %+v, want %+v", i, *got, want.Readings)
		}
		if !u.Paces().Known {
			if len(want.Paces) > 0 {
				t.Fatalf("%d: the paces are gone", i)
			}
			continue
		}
		if whole := int(want.At.Sub(want.Started) / time.Second); u.Paces().Whole != whole {
			t.Fatalf("%d: took %d s, want %d", i, u.Paces().Whole, whole)
		}
		for _, f := range all {
			at, ok := want.Paces[f]
			if !ok {
				at = -1
			}
			if u.Paces().At[f] != at {
				t.Fatalf("%d: %s came at %d, want %d", i, f, u.Paces().At[f], at)
			}
		}
	}
	if each := len(packed) / len(checks); each > 200 {
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

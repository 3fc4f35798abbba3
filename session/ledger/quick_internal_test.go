package ledger

import (
	"math/rand/v2"
	"testing"

	"threshline/grading"
	"threshline/grading/standard"
)

// TestTheQuickGraderAnswersAsGradingDoes: by every built-in table that is
// plain, lots near and far from limits, whole and lacking, good and impossible.
func TestTheQuickGraderAnswersAsGradingDoes(t *testing.T) {
	const seed = 8
	t.Logf("seed %d", seed)
	all, err := standard.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	plain, refused := 0, 0
	for _, s := range all {
		q := newQuick(s)
		if q == nil {
			continue
		}
		plain++
		rng := rand.New(rand.NewPCG(seed, 1))
		seen := map[uint8]int{}
		for range 4000 {
			r := anyReadings(rng, s)
			if !q.knows(&r) {
				t.Fatalf("%s does not know plain readings", s.ID)
			}
			want := uint8(0)
			if res, err := grading.Grade(s, r); err == nil {
				want = uint8(res.Rank)
			} else {
				refused++
			}
			if got := q.rank(&r); got != want {
				t.Fatalf("%s: rank %d, want %d for %+v", s.ID, got, want, r)
			}
			seen[want]++
		}
		if len(seen) < 3 {
			t.Errorf("%s: only ranks %v came up", s.ID, seen)
		}
	}
	if plain < 3 || refused == 0 {
		t.Errorf("%d plain tables, %d refused lots", plain, refused)
	}
}

// anyReadings makes readings on round numbers, so that limits are hit exactly.
func anyReadings(rng *rand.Rand, s *grading.Standard) (r grading.Readings) {
	for range rng.IntN(4) {
		r.Repeats = append(r.Repeats, grading.Decimal(120+rng.IntN(45))*1000)
	}
	sample := grading.NewDecimal(20 * (1 + rng.IntN(10)))
	share := func(whole grading.Decimal, percent int) grading.Decimal {
		return whole * grading.Decimal(rng.IntN(percent*10+1)) / 1000
	}
	set := func(f grading.Field, d grading.Decimal) {
		if rng.IntN(15) > 0 {
			r.Set(f, d)
		}
	}
	brown := sample * 77 / 100
	set(grading.SampleMass, sample)
	set(grading.Organic, share(sample, 1+rng.IntN(6)))
	set(grading.Inorganic, share(sample, 1+rng.IntN(3)))
	set(grading.CleanMass, sample*97/100)
	set(grading.BrownMass, brown)
	set(grading.ImmatureMass, share(brown, 1+rng.IntN(12)))
	counted := 100 * (1 + rng.IntN(3))
	set(grading.Counted, grading.NewDecimal(counted))
	for _, f := range faults {
		set(f, grading.NewDecimal(rng.IntN(1+rng.IntN(1+counted/12))))
	}
	if rng.IntN(30) == 0 {
		r.Set(grading.Red, grading.NewDecimal(counted+5))
	}
	if rng.IntN(5) == 0 {
		r.Set(grading.LiveWeevils, grading.NewDecimal(rng.IntN(4)))
		r.Set(grading.LiveOthers, grading.NewDecimal(rng.IntN(8)))
	}
	if rng.IntN(10) == 0 {
		flags := s.Flags()
		r.Flags = []grading.Flag{flags[rng.IntN(len(flags))]}
	}
	if len(s.Classes) > 0 && rng.IntN(2) == 0 {
		r.Class = s.Classes[rng.IntN(len(s.Classes))]
	}
	return r
}

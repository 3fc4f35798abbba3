package standard_test

import (
	"math/rand/v2"
	"testing"

	"threshline/grading"
	"threshline/grading/standard"
)

// TestRankAnswersAsGradeDoes: by every built-in table, for lots near and far from
// limits, whole and lacking, given directly, good and impossible; as they are,
// and again after some of their readings changed.
func TestRankAnswersAsGradeDoes(t *testing.T) {
	const seed = 8
	t.Logf("seed %d", seed)
	all, err := standard.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	refused := 0
	for _, s := range all {
		rng := rand.New(rand.NewPCG(seed, 1))
		e, seen := grading.NewEvaluator(s), map[int]int{}
		same := func(r grading.Readings, got int, err error) {
			t.Helper()
			res, bad := grading.Grade(s, r)
			if bad != nil {
				refused++
			}
			if (bad == nil) != (err == nil) || bad == nil && got != res.Rank {
				t.Fatalf("%s: rank %d, %v, want %d, %v, for %+v", s.ID, got, err, res.Rank, bad, r)
			}
			if bad == nil {
				seen[res.Rank]++
			}
		}
		for range 4000 {
			r := anyReadings(rng, s)
			rank, err := e.Rank(&r)
			same(r, rank, err)
			if err != nil {
				continue
			}
			again, changed := r.Clone(), grading.FieldSet(0)
			for _, f := range grading.Fields() {
				if d, ok := r.Get(f); ok && f.Of() != grading.NoField && d > 0 && rng.IntN(3) == 0 {
					again.Set(f, grading.Decimal(rng.IntN(int(d/grading.One)+1))*grading.One)
					changed = changed.With(f)
				}
			}
			rank, err = e.RankAgain(&again, changed, false)
			same(again, rank, err)
		}
		if len(seen) < 2 {
			t.Errorf("%s: only ranks %v came up", s.ID, seen)
		}
	}
	if refused == 0 {
		t.Error("no lot was refused")
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
	set(grading.SampleWeight, sample)
	set(grading.Chaff, share(sample, 1+rng.IntN(6)))
	set(grading.Stones, share(sample, 1+rng.IntN(3)))
	set(grading.CleanWeight, sample*97/100)
	set(grading.BrownWeight, brown)
	set(grading.ImmatureWeight, share(brown, 1+rng.IntN(12)))
	counted := 100 * (1 + rng.IntN(3))
	set(grading.Counted, grading.NewDecimal(counted))
	for _, f := range grading.AskedOn("pan") {
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
	for _, p := range s.Parameters {
		switch {
		case p.Unit == grading.Word && rng.IntN(2) == 0:
			r.Words = map[grading.ParameterID]string{p.ID: p.Words[rng.IntN(len(p.Words))]}
		case p.Unit != grading.Word && rng.IntN(4*len(s.Parameters)) == 0:
			r.Values = map[grading.ParameterID]grading.Decimal{p.ID: grading.Decimal(rng.IntN(160)) * 1000}
		}
	}
	if len(s.Classes) > 0 && rng.IntN(2) == 0 {
		r.Class = s.Classes[rng.IntN(len(s.Classes))]
	}
	return r
}

package chance_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"threshline/grading"
	"threshline/grading/chance"
)

// TestGrainsScatterAsPublished: of a 5 % lot, 100 grains read 1 to 9 % and 790
// grains 3.4 to 6.6 % [GIPSA-SAMPLING]. A reading at either end must leave the
// lot's 5 % just about inside its bounds: the chance that the lot has 5 % or
// less is then near one of the tails of 2.5 %.
func TestGrainsScatterAsPublished(t *testing.T) {
	five := grading.NewDecimal(5)
	s := &grading.Standard{ID: "five", Rule: grading.WorstOf, OutOfGrade: "over", Parameters: agmark(t).Parameters[1:2],
		Grades: []grading.GradeRow{{Label: "5 %", Limits: map[string]map[grading.ParameterID]grading.Bound{"": {"admixture": {Max: &five}}}}}}
	for _, c := range []struct {
		grains, red int // red as printed in percent, to the nearest grain
		low         bool
	}{{100, 1, true}, {100, 9, false}, {790, 27, true}, {790, 52, false}} {
		res := assess(t, s, fmt.Sprintf(`{"counted":%d,"red":%d,"other_variety":0}`, c.grains, c.red), chance.Certainty{Alone: true})
		under := res.Parameters[0].ByRank[0]
		tail := under
		if c.low {
			tail = 1 - under
		}
		if tail < 0.003 || tail > 0.06 {
			t.Errorf("%d of %d: chance of 5 %% or less %.4f, want its tail near 0.025", c.red, c.grains, under)
		}
	}
}

// TestWeighedGrainsScatterAsCounted: 20 g holds about 800 grains of 25 mg, so
// that a share by weight deviates by 0.25, 0.35, 0.49 and 0.77 points at 0.5, 1, 2
// and 5 %: derived from the binomial that [GIPSA-SAMPLING] agrees with. Exact
// bounds are a little wider where few grains were found.
func TestWeighedGrainsScatterAsCounted(t *testing.T) {
	c := chance.Certainty{HuskedWeight: 0.025, ScaleStep: 0.0001}
	s := agmark(t)
	thin := &grading.Standard{ID: "thin", Rule: grading.WorstOf, OutOfGrade: "over", Grades: s.Grades[:1],
		Parameters: []grading.Parameter{{ID: "thin", Unit: grading.PercentWeight, Decimals: 2,
			Terms: []grading.Term{{Kind: grading.WeightShare, Fields: []grading.Field{grading.ImmatureWeight}, Over: grading.BrownWeight}}}}}
	for _, v := range []struct{ percent, deviation float64 }{{0.5, 0.25}, {1, 0.35}, {2, 0.49}, {5, 0.77}} {
		res := assess(t, thin, fmt.Sprintf(`{"brown_g":20,"immature_g":%.1f}`, v.percent*20/100), c)
		p := res.Parameters[0]
		if half := (p.High - p.Low) / 2 / 1.96; math.Abs(half-v.deviation) > 0.2*v.deviation {
			t.Errorf("%v %% of 20 g: deviation %.3f points, want about %v", v.percent, half, v.deviation)
		}
	}
}

// TestStonesAreRare: stones of 0.05 g at 0.1 % show in only one sample of 20 g in
// three, at 0.5 % in 86.5 %: the Poisson's own. None found must leave both
// shares possible, and exclude one that would show in 99.9 % of samples.
func TestStonesAreRare(t *testing.T) {
	t.Logf("seed %d", simulationSeed)
	r := rand.New(rand.NewPCG(simulationSeed, 6))
	for _, c := range []struct{ share, none float64 }{{0.001, 0.670}, {0.005, 0.135}} {
		empty, n := 0, 20000
		for range n {
			if stones(r, 20*c.share, 0.05) == 0 {
				empty++
			}
		}
		if got := float64(empty) / float64(n); math.Abs(got-c.none) > 0.015 {
			t.Errorf("%.1f %% of stones: none in %.3f of samples, want %.3f", 100*c.share, got, c.none)
		}
	}
	res := assess(t, agmark(t), `{"sample_g":20,"chaff_g":0,"stones_g":0}`, chance.Certainty{})
	if v := res.Parameter("foreign_matter"); v.High < 0.5 || v.High > 1.73 {
		t.Errorf("nothing found in 20 g: up to %.2f %%, want more than 0.5 and less than 1.73", v.High)
	}
}

// stones draws how many stones of one weight lie in a sample that holds grams of
// them on average.
func stones(r *rand.Rand, grams, weight float64) (n int) {
	for t := r.ExpFloat64(); t < grams/weight; t += r.ExpFloat64() {
		n++
	}
	return n
}

// TestAStepOfHalfThePercentIsSeen: by a 0.1 g scale on 20 g (a step of 0.5 %)
// the bounds are wider than by 0.01 g, and never by less than half a step.
func TestAStepOfHalfThePercentIsSeen(t *testing.T) {
	text := `{"sample_g":20,"chaff_g":0.3,"stones_g":0}`
	width := func(step float64) float64 {
		res := assess(t, agmark(t), text, chance.Certainty{ScaleStep: step})
		v := res.Parameter("foreign_matter")
		return v.High - v.Low
	}
	widths := []float64{width(0.01), width(0.1), width(0.5), width(1)}
	if !slices.IsSorted(widths) || widths[1]-widths[0] < 0.05 || widths[3] < 4 {
		t.Errorf("widths by 0.01, 0.1, 0.5 and 1 g: %.2f points", widths)
	}
}

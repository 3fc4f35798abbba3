package figure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"threshline/session/ledger/figure"
)

// TestStudentAsPublished holds both tails against the critical values that
// [NIST-EDA3672] prints for one tail of 0.025 and 0.005.
func TestStudentAsPublished(t *testing.T) {
	for _, c := range []struct{ freedom, chance, value float64 }{
		{1, 0.05, 12.706}, {4, 0.05, 2.776}, {4, 0.01, 4.604}, {10, 0.05, 2.228}, {30, 0.01, 2.750}, {100, 0.05, 1.984},
	} {
		if got := figure.StudentTwice(c.value, c.freedom); math.Abs(got-c.chance) > 2e-4 {
			t.Errorf("t %v of %v degrees: %.5f, want %v", c.value, c.freedom, got, c.chance)
		}
	}
	if got := figure.NormalTwice(1.959964); math.Abs(got-0.05) > 1e-6 {
		t.Errorf("normal 1.96: %.6f", got)
	}
}

// TestOverspreadIsOneOfWhatIsExpected: the quartiles of the normal are its own.
func TestOverspreadIsOneOfWhatIsExpected(t *testing.T) {
	if got := figure.Overspread([]float64{0.67449, -0.67449, 0.67449}); math.Abs(got-1) > 1e-4 {
		t.Errorf("%v, want 1", got)
	}
	if got := figure.Overspread([]float64{2 * 0.67449, -2 * 0.67449, 0, 50, 2 * 0.67449}); math.Abs(got-4) > 1e-4 {
		t.Errorf("%v, want 4, whatever one odd finding is", got)
	}
	if got := figure.Overspread(nil); got != 1 {
		t.Errorf("of nothing %v", got)
	}
}

// TestRoundedReadingsScatter holds what a display does to the scatter, and how
// often three readings show the same, against drawing them: general statistics,
// no outside table.
func TestRoundedReadingsScatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 1))
	for _, c := range []struct{ spread, step float64 }{{0.25, 0.1}, {0.125, 0.1}, {0.05, 0.1}, {0.25, 0.5}, {0.1, 0.01}} {
		const draws = 200_000
		squares, alike := 0.0, 0
		for range draws {
			lot := rng.Float64()
			var x [3]float64
			for i := range x {
				x[i] = math.Round((lot+rng.NormFloat64()*c.spread)/c.step) * c.step
			}
			squares += (x[0] - x[1]) * (x[0] - x[1]) / 2
			if x[0] == x[1] && x[1] == x[2] {
				alike++
			}
		}
		if got, want := figure.Shown(c.spread, c.step), math.Sqrt(squares/draws); math.Abs(got/want-1) > 0.02 {
			t.Errorf("spread %v, step %v: shown %.4f, drawn %.4f", c.spread, c.step, got, want)
		}
		if got, want := figure.ThreeAlike(c.spread, c.step), float64(alike)/draws; math.Abs(got-want) > 0.003+0.03*want {
			t.Errorf("spread %v, step %v: alike %.4f, drawn %.4f", c.spread, c.step, got, want)
		}
	}
}

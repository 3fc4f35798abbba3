package ledger

import (
	"math"
	"testing"

	"threshline/grading"
)

// TestStudentAsPublished holds both tails against the critical values that
// [NIST-EDA3672] prints for one tail of 0.025 and 0.005.
func TestStudentAsPublished(t *testing.T) {
	for _, c := range []struct{ freedom, chance, value float64 }{
		{1, 0.05, 12.706}, {4, 0.05, 2.776}, {4, 0.01, 4.604}, {10, 0.05, 2.228}, {30, 0.01, 2.750}, {100, 0.05, 1.984},
	} {
		if got := studentTwice(c.value, c.freedom); math.Abs(got-c.chance) > 2e-4 {
			t.Errorf("t %v of %v degrees: %.5f, want %v", c.value, c.freedom, got, c.chance)
		}
	}
	if got := normalTwice(1.959964); math.Abs(got-0.05) > 1e-6 {
		t.Errorf("normal 1.96: %.6f", got)
	}
}

// TestCountsOfOneLotByTwo works two tables through by hand. 8 of 20 against 2
// of 20: 10 x 20/40 = 5 expected, 20 x 20 x 10 x 30/(1600 x 39) = 1.9231 the
// variance. 3 of 50 against 9 of 100: 4 expected, 50 x 100 x 12 x 138/(22500 x
// 149) = 2.46980.
func TestCountsOfOneLotByTwo(t *testing.T) {
	lot := func(counted, red int) (r grading.Readings) {
		r.Set(grading.Counted, grading.NewDecimal(counted))
		r.Set(grading.Red, grading.NewDecimal(red))
		return r
	}
	var k countPairs
	one, two := lot(20, 8), lot(20, 2)
	k.add(&one, &two, &paced{})
	three, four := lot(50, 3), lot(100, 9)
	k.add(&three, &four, &paced{})
	if k.pairs != 2 || k.found != 11 || math.Abs(k.expected-9) > 1e-12 || math.Abs(k.variance-1.923077-2.469799) > 1e-5 {
		t.Errorf("%+v", k)
	}
	var carried paced
	carried.known = true
	for f := range carried.at {
		carried.at[f] = -1
	}
	before := k
	k.add(&one, &two, &carried)
	if k != before {
		t.Error("counts that were carried over from the check before are no second count")
	}
}

// TestOverspreadIsOneOfWhatIsExpected: the quartiles of the normal are its own.
func TestOverspreadIsOneOfWhatIsExpected(t *testing.T) {
	if got := overspread([]float64{0.67449, -0.67449, 0.67449}); math.Abs(got-1) > 1e-4 {
		t.Errorf("%v, want 1", got)
	}
	if got := overspread([]float64{2 * 0.67449, -2 * 0.67449, 0, 50, 2 * 0.67449}); math.Abs(got-4) > 1e-4 {
		t.Errorf("%v, want 4, whatever one odd finding is", got)
	}
	if got := overspread(nil); got != 1 {
		t.Errorf("of nothing %v", got)
	}
}

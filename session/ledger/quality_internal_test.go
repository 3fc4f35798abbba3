package ledger

import (
	"math"
	"testing"

	"threshline/grading"
	"threshline/session/ledger/figure"
	"threshline/session/ledger/packed"
)

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
	var k figure.Pairs
	one, two := lot(20, 8), lot(20, 2)
	countedAgain(&k, &one, &two, &packed.Paces{})
	three, four := lot(50, 3), lot(100, 9)
	countedAgain(&k, &three, &four, &packed.Paces{})
	if k.Count != 2 || k.Found != 11 || math.Abs(k.Expected-9) > 1e-12 || math.Abs(k.Variance-1.923077-2.469799) > 1e-5 {
		t.Errorf("%+v", k)
	}
	var carried packed.Paces
	carried.Known = true
	for f := range carried.At {
		carried.At[f] = -1
	}
	before := k
	countedAgain(&k, &one, &two, &carried)
	if k != before {
		t.Error("counts that were carried over from the check before are no second count")
	}
}

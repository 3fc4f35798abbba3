package ledger

import (
	"math"
	"testing"

	"threshline/grading"
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
	var k countPairs
	one, two := lot(20, 8), lot(20, 2)
	k.add(&one, &two, &packed.Paces{})
	three, four := lot(50, 3), lot(100, 9)
	k.add(&three, &four, &packed.Paces{})
	if k.pairs != 2 || k.found != 11 || math.Abs(k.expected-9) > 1e-12 || math.Abs(k.variance-1.923077-2.469799) > 1e-5 {
		t.Errorf("%+v", k)
	}
	var carried packed.Paces
	carried.Known = true
	for f := range carried.At {
		carried.At[f] = -1
	}
	before := k
	k.add(&one, &two, &carried)
	if k != before {
		t.Error("counts that were carried over from the check before are no second count")
	}
}

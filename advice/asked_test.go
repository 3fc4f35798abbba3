package advice_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"threshline/advice"
	"threshline/grading"
)

// That bite and salt are no proof stands beside "measure again" where moisture is to
// be measured, and nowhere else: who is to count red grains has no use for it.
func TestBiteAndSaltAreNamedWhereMoistureIsAsked(t *testing.T) {
	s := book(t, "agmark-paddy")
	rng := rand.New(rand.NewPCG(16, 4))
	var adviser advice.Adviser
	asked := map[bool]int{}
	for range 4000 {
		c := aLot(rng, s)
		if rng.IntN(40) == 0 {
			c.Readings = grading.Readings{}
		}
		if err := adviser.Assess(&c); err != nil {
			continue
		}
		best := adviser.Advise(&c).Best
		if best.Remedy != advice.MeasureAgain {
			continue
		}
		what := best.Because.Parameter
		if best.More != nil {
			what = best.More.Parameter
		}
		water := what == "moisture" || best.Reason == advice.Unmeasured
		if named := slices.Contains(best.Cautions, advice.HandTestsAreNot); named != water {
			t.Errorf("asked for %q (%s): the cautions are %v", what, best.Reason, best.Cautions)
		}
		asked[water]++
	}
	if asked[true] < 10 || asked[false] < 10 {
		t.Errorf("moisture was asked for %d times, others %d: too few say anything", asked[true], asked[false])
	}
}

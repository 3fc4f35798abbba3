package ledger_test

import (
	"math/rand/v2"
	"reflect"
	"testing"

	"threshline/grading"
	"threshline/session/ledger"
)

// TestAWhatIfIsTheSameWhateverWasAskedBefore asks one ledger for what-ifs of
// many filters, whose best remedies differ, and each of them of a ledger that
// was asked nothing before.
func TestAWhatIfIsTheSameWhateverWasAskedBefore(t *testing.T) {
	const seed = 37
	t.Logf("seed %d", seed)
	_, last, known := history(t, seed, 250)
	fresh := func() *ledger.Ledger {
		l := ledger.New(ledger.Settings{Zone: dar(t), Standards: known, Advice: prices()})
		l.Apply(last...)
		return l
	}
	filters := manyFilters(rand.New(rand.NewPCG(seed, 2)))
	for _, id := range []grading.ParameterID{"moisture", "chaff", "stones", "immature", "pest_damaged", "discoloured", "red", "foreign_matter"} {
		filters = append(filters, ledger.Filter{Deciding: id})
	}
	used := fresh()
	firsts := map[any]bool{}
	for range 2 {
		for _, f := range filters {
			got, want := used.View().WhatIf(f), fresh().View().WhatIf(f)
			if !reflect.DeepEqual(got, want) {
				t.Errorf("%+v: %d lots, want %d; best two %+v, want %+v", f, got.Lots, want.Lots, got.ThisLotTwo, want.ThisLotTwo)
			}
			if aside := used.View().Aside(func() bool { return false }).WhatIf(f); !reflect.DeepEqual(aside, want) {
				t.Errorf("%+v: aside %d lots, want %d", f, aside.Lots, want.Lots)
			}
			if got.ThisLotTwo != nil {
				firsts[got.ThisLotTwo.Remedies[0]] = true
			}
		}
	}
	if len(firsts) < 3 {
		t.Errorf("the best remedies are %v: too few to tell", firsts)
	}
	stopped := used.View().Aside(func() bool { return true })
	if w := stopped.WhatIf(ledger.Filter{}); w.Lots != 0 {
		t.Errorf("%d lots were graded after the stop", w.Lots)
	}
}

package ledger_test

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"

	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
	"threshline/session/programme"
)

// odour finds dangers in its own way: by what was smelt and how many weevils.
func odour(c *session.Check) (found []programme.Danger) {
	for _, f := range c.Readings.Flags {
		found = append(found, programme.Danger(f))
	}
	if n, _ := c.Readings.Get(grading.LiveWeevils); n >= 2*grading.One {
		found = append(found, programme.Insects)
	}
	return found
}

// Lots to visit are those that a look at each check by itself finds, once each,
// newest first, whatever the filter.
func TestVisitsAreThoseOfTheChecksOneByOne(t *testing.T) {
	const seed = 20261125
	writes, last, known := history(t, seed, 700)
	l := ledger.New(ledger.Settings{Zone: dar(t), Standards: known, Dangers: odour})
	l.Apply(writes...)
	second, found := newSlow(last, known, dar(t)), 0
	for _, f := range manyFilters(rand.New(rand.NewPCG(seed, 9))) {
		kind := f
		if kind.Kind == ledger.AnyKind {
			kind.Kind = ledger.LastCheck
		}
		var want []ledger.Visit
		for _, c := range second.chosen(&kind) {
			if dangers := odour(c); len(dangers) > 0 {
				want = append(want, ledger.Visit{Slip: c.Slip, District: c.Lot.District, Village: c.Lot.Village, Dangers: dangers, At: c.At})
			}
		}
		slices.SortFunc(want, func(a, b ledger.Visit) int {
			return cmp.Or(b.At.Compare(a.At), cmp.Compare(a.Slip, b.Slip))
		})
		if diff := gocmp.Diff(want, l.View().Visits(f)); diff != "" {
			t.Fatalf("filter %+v (- one by one, + ledger):\n%s", f, diff)
		}
		found += len(want)
	}
	if found < 50 {
		t.Errorf("only %d lots to visit were tried", found)
	}
}

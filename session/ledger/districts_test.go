package ledger_test

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"

	"threshline/session/ledger"
)

// Districts counts what a summary counts, whatever the filter.
func TestDistrictsAreThoseOfTheSummary(t *testing.T) {
	const seed = 20261129
	writes, _, known := history(t, seed, 700)
	l := ledger.New(ledger.Settings{Zone: dar(t), Standards: known})
	l.Apply(writes...)
	found := 0
	for _, f := range manyFilters(rand.New(rand.NewPCG(seed, 3))) {
		s := l.View().Summary(f)
		want := slices.Clone(s.Districts)
		for i := range want {
			want[i].Grades = nil
		}
		all, got := l.View().Districts(f)
		byKey := func(a, b ledger.Group) int { return cmp.Compare(a.Key, b.Key) }
		slices.SortFunc(want, byKey)
		slices.SortFunc(got, byKey)
		if diff := gocmp.Diff(want, got); diff != "" {
			t.Fatalf("filter %+v (- summary, + districts):\n%s", f, diff)
		}
		if all.Checks != s.Checks || all.KG != s.KG || all.InGrade != s.InGrade || all.Best != s.Best {
			t.Errorf("filter %+v: together %+v, want %d checks, %s kg, %+v in grade", f, all, s.Checks, s.KG, s.InGrade)
		}
		found += len(got)
	}
	if found < 50 {
		t.Errorf("only %d districts were tried", found)
	}
}

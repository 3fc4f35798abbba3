package ledger_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"threshline/session"
	"threshline/session/ledger"
)

func TestSlipsAreListedNewestFirst(t *testing.T) {
	const seed = 23
	t.Logf("seed %d", seed)
	_, last, known := history(t, seed, 500)
	l := ledger.New(ledger.Settings{Zone: dar(t), Standards: known})
	l.Apply(last...)
	second := newSlow(last, known, dar(t))
	for _, f := range manyFilters(rand.New(rand.NewPCG(seed, 2))) {
		var want []session.Slip
		list := second.chosen(&f)
		slices.SortFunc(list, func(a, b *session.Check) int {
			if d := b.At.Unix() - a.At.Unix(); d != 0 {
				return int(d)
			}
			if a.Slip < b.Slip {
				return -1
			}
			return 1
		})
		for _, c := range list {
			want = append(want, c.Slip)
		}
		if got := slices.Collect(l.View().Slips(f)); !slices.Equal(got, want) {
			t.Errorf("%+v: %d slips, want %d", f, len(got), len(want))
		}
		for slip := range l.View().Slips(f) {
			if slip != want[0] {
				t.Errorf("%+v: first %s, want %s", f, slip, want[0])
			}
			break
		}
	}
}

func TestSomebodyForgottenKeepsNoName(t *testing.T) {
	l := ledger.New(ledger.Settings{})
	p := session.Person{ID: "p1", Phone: "+33639981234", Name: "Asha", Role: session.Agent, District: "Kisima", Kit: session.Kit{ScaleStep: 100}}
	l.People(p)
	if got, ok := l.View().Person("p1"); !ok || got.Name != "Asha" || got.District != "Kisima" || got.ScaleStep != 100 {
		t.Errorf("%+v", got)
	}
	p.Forgotten = true // even if the record still held a name
	l.People(p)
	if got, ok := l.View().Person("p1"); !ok || got != (ledger.Person{Role: session.Agent}) {
		t.Errorf("after being forgotten: %+v", got)
	}
	if _, ok := l.View().Person("p2"); ok {
		t.Error("a stranger is known")
	}
}

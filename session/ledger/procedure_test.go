package ledger_test

import (
	"testing"

	"threshline/session"
	"threshline/session/ledger"
)

// Checks by two editions of the procedure are counted apart, and none is compared
// with one of the other: what changed may be the hands' work, and not the lots.
func TestEditionsOfTheProcedureAreNotMixed(t *testing.T) {
	_, checks, known := history(t, 5, 200)
	begun := ledger.New(ledger.Settings{Zone: dar(t), Standards: known, Advice: prices()})
	begun.Apply(checks...)
	one := begun.View().Summary(ledger.Filter{})
	if one.Rechecks.Compared == 0 {
		t.Fatal("nothing was checked again: the test says nothing")
	}
	again := map[session.Slip]bool{}
	for i := range checks {
		if before := checks[i].Recheck; before != "" && !again[before] {
			checks[i].Procedure = session.Procedure
			again[checks[i].Slip] = true
		}
	}
	l := ledger.New(ledger.Settings{Zone: dar(t), Standards: known, Advice: prices()})
	l.Apply(checks...)
	both := l.View().Summary(ledger.Filter{})
	if both.Rechecks.Compared != 0 || both.Rechecks.Pairs != one.Rechecks.Pairs {
		t.Errorf("%d of %d pairs are compared across procedures", both.Rechecks.Compared, both.Rechecks.Pairs)
	}
	byProcedure := map[int]int{}
	for _, g := range both.Grades {
		byProcedure[g.Procedure] += g.Share.Count
	}
	if len(byProcedure) != 2 || byProcedure[0]+byProcedure[session.Procedure] != both.Lots {
		t.Errorf("lots by procedure: %v of %d", byProcedure, both.Lots)
	}
	for _, d := range both.Parameters {
		if d.Measured.Of > byProcedure[d.Procedure] {
			t.Errorf("%s, procedure %d: of %d lots, there are %d", d.Parameter, d.Procedure, d.Measured.Of, byProcedure[d.Procedure])
		}
	}
	older := 0
	if got := l.View().Summary(ledger.Filter{Procedure: &older}); got.Checks == 0 || got.Checks+len(again) < both.Checks {
		t.Errorf("%d checks by the older, %d by the newer, %d in all", got.Checks, len(again), both.Checks)
	}
}

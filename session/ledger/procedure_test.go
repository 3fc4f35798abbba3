package ledger_test

import (
	"testing"

	gocmp "github.com/google/go-cmp/cmp"

	"threshline/session"
	"threshline/session/ledger"
)

// Figures are of one edition of the procedure, and no check is compared with one of
// another: what changed may be the hands' work, and not the lots.
func TestEditionsOfTheProcedureAreNotMixed(t *testing.T) {
	_, checks, known := history(t, 5, 200)
	settings := ledger.Settings{Zone: dar(t), Standards: known, Advice: prices()}
	begun := ledger.New(settings)
	begun.Apply(checks...)
	one := begun.View().Summary(ledger.Filter{})
	if one.Rechecks.Compared == 0 || one.Apart != nil || begun.View().Quality().Looked[ledger.RecheckCounts].Left == nil {
		t.Fatal("nothing was checked again, or one edition is taken for several: the test says nothing")
	}
	again := map[session.Slip]bool{}
	for i := range checks {
		if before := checks[i].Recheck; before != "" && !again[before] {
			checks[i].Procedure = session.Procedure
			again[checks[i].Slip] = true
		}
	}
	l := ledger.New(settings)
	l.Apply(checks...)
	view := l.View()
	newest, older := view.Summary(ledger.Filter{}), view.Summary(ledger.Filter{Procedure: 1})
	every := view.Summary(ledger.Filter{Procedure: ledger.EveryProcedure})
	if newest.Rechecks.Compared != 0 || newest.Rechecks.Pairs == 0 {
		t.Errorf("%d of %d pairs are compared across procedures", newest.Rechecks.Compared, newest.Rechecks.Pairs)
	}
	if left := view.Quality().Looked[ledger.RecheckCounts]; left.Tests > 0 || len(left.Left) > 0 {
		t.Errorf("counts of two procedures are held against each other: %+v", left)
	}
	for _, g := range newest.Grades {
		if g.Procedure != session.Procedure {
			t.Errorf("a grade of procedure %d stands among the figures", g.Procedure)
		}
	}
	weeks := 0
	for _, g := range newest.Weeks {
		weeks += g.Checks
	}
	if newest.Checks == 0 || weeks != newest.Checks || newest.Checks+older.Checks != every.Checks || newest.Lots+older.Lots != every.Lots {
		t.Errorf("checks and lots %d and %d (in weeks %d) newest, %d and %d older, %d and %d in all",
			newest.Checks, newest.Lots, weeks, older.Checks, older.Lots, every.Checks, every.Lots)
	}
	apart := []ledger.ByProcedure{{Procedure: 1, Checks: older.Checks, Lots: older.Lots, InGrade: older.InGrade}}
	if diff := gocmp.Diff(apart, newest.Apart); diff != "" {
		t.Errorf("what stands apart (- want, + got):\n%s", diff)
	}
	if diff := gocmp.Diff(view.WhatIf(ledger.Filter{Procedure: session.Procedure}), view.WhatIf(ledger.Filter{})); diff != "" {
		t.Errorf("a what-if mixes editions (- newest, + asked for none):\n%s", diff)
	}
	if all, _ := view.Districts(ledger.Filter{}); all.Checks != newest.Checks || all.InGrade != newest.InGrade {
		t.Errorf("districts count %d checks, %+v in grade; want %d, %+v", all.Checks, all.InGrade, newest.Checks, newest.InGrade)
	}
	listed := 0
	for range view.Slips(ledger.Filter{}) {
		listed++
	}
	if listed != every.Checks {
		t.Errorf("%d checks are listed, want all %d", listed, every.Checks)
	}
}

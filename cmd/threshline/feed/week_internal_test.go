package feed

import (
	"testing"
	"time"

	"threshline/grading/standard/standardtest"
	"threshline/session"
	"threshline/session/programme"
)

// The week is reckoned again when checks came, as soon as the last is old enough.
func TestTheWeekIsReckonedAgainInItsTime(t *testing.T) {
	f := newFeed(t)
	now := time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC)
	f.ReckonWeeks(t.Context(), now)
	first := f.Weeks.Load()
	f.Ledger.Apply(aCheck(f, now))
	f.reckoned.took = 0 // however slow this machine is
	if f.ReckonWeeks(t.Context(), now.Add(WeeksEvery-1)); f.Weeks.Load() != first {
		t.Error("reckoned again at once")
	}
	f.ReckonWeeks(t.Context(), now.Add(WeeksEvery))
	if got := f.Weeks.Load().Running.Districts[""].Checks; got != 1 {
		t.Errorf("%d checks, want the one that came", got)
	}
}

// newFeed feeds an empty ledger.
func newFeed(t *testing.T) *Feed {
	t.Helper()
	table, err := standardtest.ByID(standardtest.Own)
	if err != nil {
		t.Fatal(err)
	}
	f, err := New(nil, &programme.Programme{Zone: time.UTC, Standard: table})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// aCheck is the first, filed by the table in force.
func aCheck(f *Feed, at time.Time) session.Check {
	table := f.programme.Standard
	return session.Check{Slip: session.NewSlip(77), State: session.Filed, At: at, Position: 1, StandardID: table.ID, Edition: table.Edition}
}

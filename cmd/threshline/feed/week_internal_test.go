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
	table, err := standardtest.ByID(standardtest.Own)
	if err != nil {
		t.Fatal(err)
	}
	f, err := New(nil, &programme.Programme{Zone: time.UTC, Standard: table})
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC)
	f.ReckonWeeks(t.Context(), now)
	first := f.Weeks.Load()
	f.Ledger.Apply(session.Check{Slip: session.NewSlip(77), State: session.Filed, At: now, Position: 1, StandardID: table.ID, Edition: table.Edition})
	f.reckoned.took = 0 // however slow this machine is
	if f.ReckonWeeks(t.Context(), now.Add(WeeksEvery-1)); f.Weeks.Load() != first {
		t.Error("reckoned again at once")
	}
	f.ReckonWeeks(t.Context(), now.Add(WeeksEvery))
	if got := f.Weeks.Load().Running.Districts[""].Checks; got != 1 {
		t.Errorf("%d checks, want the one that came", got)
	}
}

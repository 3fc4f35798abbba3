package feed

import (
	"context"
	"testing"
	"time"

	"threshline/grading/standard/standardtest"
	"threshline/session"
	"threshline/session/programme"
)

// whileBusy is a context in which many checks come as soon as anything is reckoned.
type whileBusy struct {
	context.Context
	feed *Feed
}

func (c whileBusy) Err() error {
	c.feed.busy.Store(true)
	return nil
}

// What is being reckoned ahead makes room for phones, and is done when they rest.
func TestReckoningAheadStopsWhenManyChecksCome(t *testing.T) {
	table, err := standardtest.ByID(standardtest.Own)
	if err != nil {
		t.Fatal(err)
	}
	f, err := New(nil, &programme.Programme{Zone: time.UTC, Standard: table})
	if err != nil {
		t.Fatal(err)
	}
	f.Ledger.Apply(session.Check{Slip: session.NewSlip(77), State: session.Filed, At: time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC), Position: 1, StandardID: table.ID, Edition: table.Edition})
	f.Filled.Store(true)
	for _, quiet := range []bool{false, true} {
		ctx := t.Context()
		if !quiet {
			ctx = whileBusy{ctx, f}
		}
		if _, err := f.ReckonAhead(ctx); err != nil {
			t.Fatal(err)
		}
		if _, _, ok := f.Season(); ok != quiet {
			t.Errorf("reckoned: %t, while it is quiet: %t", ok, quiet)
		}
		f.busy.Store(false)
	}
}

package feed

import (
	"context"
	"testing"
	"time"
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
	f := newFeed(t)
	f.Ledger.Apply(aCheck(f, time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC)))
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

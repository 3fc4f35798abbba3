package main

import (
	"context"
	"reflect"
	"testing"
	"time"

	"threshline/cmd/threshline/demo"
	"threshline/cmd/threshline/feed"
	"threshline/session"
	"threshline/session/ledger"
)

// TestTheSeasonIsReckonedAhead asks for the what-if of the season before, while
// and after it is reckoned.
func TestTheSeasonIsReckonedAhead(t *testing.T) {
	s, _ := servedSeason(t)
	if _, _, ok := s.feed.Season(); ok {
		t.Error("it is known before anything was reckoned")
	}
	if err := s.feed.CatchUp(t.Context()); err != nil {
		t.Fatal(err)
	}
	ended, end := context.WithCancel(t.Context())
	end()
	if _, err := s.feed.ReckonAhead(ended); err != nil {
		t.Fatal(err)
	}
	if _, _, ok := s.feed.Season(); ok {
		t.Error("what was broken off is given out")
	}
	if _, err := s.feed.ReckonAhead(t.Context()); err != nil {
		t.Fatal(err)
	}
	got, at, ok := s.feed.Season()
	want := s.feed.Ledger.View().WhatIf(ledger.Filter{})
	if !ok || at.IsZero() || !reflect.DeepEqual(got, want) || want.Lots < 100 || len(want.Districts) < 4 {
		t.Errorf("%d lots in %d districts at %s, want %d in %d", got.Lots, len(got.Districts), at, want.Lots, len(want.Districts))
	}
}

// TestAPageDoesNotWaitForTheWholeStore reads a store of several readings as pages
// do that wait no longer: each goes on with a part, and the parts are the whole.
func TestAPageDoesNotWaitForTheWholeStore(t *testing.T) {
	s, _ := servedSeason(t)
	season, err := s.store.Filed(t.Context(), 0, 10*demo.Checks)
	if err != nil {
		t.Fatal(err)
	}
	var w session.Writes
	for i := range 2*feed.Batch + 100 {
		c := season[i%len(season)]
		c.Slip, c.Version, c.Recheck = session.NewSlip(uint64(1_000_000+i)), 0, ""
		w.Checks = append(w.Checks, c)
	}
	if err := demo.Apply(t.Context(), s.store, w); err != nil {
		t.Fatal(err)
	}
	want := len(season) + len(w.Checks)
	ended := make(chan time.Time)
	close(ended)
	was := -1
	for steps := 0; ; steps++ {
		checks, part, ok := s.feed.Progress()
		if !ok {
			break
		}
		if checks <= was || checks > want || part < 0 || part > 1 || steps > 5 {
			t.Fatalf("step %d: %d checks of %d, %.2f of all, after %d", steps, checks, want, part, was)
		}
		was = checks
		if err := s.feed.Read(t.Context(), ended); err != nil {
			t.Fatal(err)
		}
	}
	if was != 2*feed.Batch || s.feed.Ledger.View().Len() != want {
		t.Errorf("%d checks before the last reading, %d after, want %d and %d", was, s.feed.Ledger.View().Len(), 2*feed.Batch, want)
	}
	whole := ledger.New(ledger.Settings{Zone: s.programme.Zone, Standards: s.feed.Known, Advice: s.programme.Advice, Dangers: s.programme.Dangers})
	all, err := s.store.Filed(t.Context(), 0, want+1)
	if err != nil {
		t.Fatal(err)
	}
	whole.Apply(all...)
	if got, want := s.feed.Ledger.View().Summary(ledger.Filter{}), whole.View().Summary(ledger.Filter{}); !reflect.DeepEqual(got, want) {
		t.Errorf("read in parts, the ledger says %+v; read at once %+v", got, want)
	}
	s.feed.Turn <- struct{}{} // somebody else reads
	if err := s.feed.Read(t.Context(), ended); err != nil {
		t.Errorf("a page that does not wait for whoever reads: %v", err)
	}
}

// TestNothingIsReckonedAheadWhileManyChecksCome leaves the season's what-if to
// whoever asks for it, and reckons it when it is quiet again.
func TestNothingIsReckonedAheadWhileManyChecksCome(t *testing.T) {
	s, _ := servedSeason(t)
	for _, quiet := range []bool{false, true} {
		if _, err := s.feed.Round(t.Context()); err != nil { // the first reads the season, the second nothing new
			t.Fatal(err)
		}
		if _, err := s.feed.ReckonAhead(t.Context()); err != nil {
			t.Fatal(err)
		}
		if _, _, ok := s.feed.Season(); ok != quiet {
			t.Errorf("reckoned ahead: %t, while it is quiet: %t", ok, quiet)
		}
	}
}

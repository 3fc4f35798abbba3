package main

import (
	"context"
	"reflect"
	"testing"

	"threshline/session/ledger"
)

// TestTheSeasonIsReckonedAhead asks for the what-if of the season before, while
// and after it is reckoned.
func TestTheSeasonIsReckonedAhead(t *testing.T) {
	s, _ := servedSeason(t)
	if _, _, ok := s.feed.season(); ok {
		t.Error("it is known before anything was reckoned")
	}
	if err := s.feed.catchUp(t.Context()); err != nil {
		t.Fatal(err)
	}
	ended, end := context.WithCancel(t.Context())
	end()
	if _, err := s.feed.reckonAhead(ended); err != nil {
		t.Fatal(err)
	}
	if _, _, ok := s.feed.season(); ok {
		t.Error("what was broken off is given out")
	}
	if _, err := s.feed.reckonAhead(t.Context()); err != nil {
		t.Fatal(err)
	}
	got, at, ok := s.feed.season()
	want := s.feed.ledger.View().WhatIf(ledger.Filter{})
	if !ok || at.IsZero() || !reflect.DeepEqual(got, want) || want.Lots < 100 || len(want.Districts) < 4 {
		t.Errorf("%d lots in %d districts at %s, want %d in %d", got.Lots, len(got.Districts), at, want.Lots, len(want.Districts))
	}
}

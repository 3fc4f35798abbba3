package main

import (
	"context"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"threshline/grading"
	"threshline/grading/standard"
	"threshline/session"
	"threshline/session/ledger"
	"threshline/session/programme"
	"threshline/session/store/bolt"
)

// feed keeps the ledger up to what the store holds.
type feed struct {
	store     *bolt.Store
	ledger    *ledger.Ledger
	programme *programme.Programme
	known     []*grading.Standard // that checks may have been graded by
	// weeks is what coordinators are told; nil until the ledger was filled once.
	weeks    atomic.Pointer[programme.Weeks]
	reckoned struct { // over what weeks was reckoned; for round alone
		position uint64
		at       time.Time
	}

	mu     sync.Mutex
	people time.Time // when they were last read

	filled atomic.Bool // all that was in the store at a start has been read
	ahead  atomic.Pointer[seasonAhead]
}

// seasonAhead is the what-if of the whole season, reckoned before anybody asks.
type seasonAhead struct {
	what     ledger.WhatIf
	at       time.Time     // of the reckoning
	took     time.Duration // so long
	position uint64        // over checks up to here
}

const (
	// feedBatch is how many records are read at once.
	feedBatch = 2000
	// peopleEvery is how old the people's names on pages may be.
	peopleEvery = 30 * time.Second
	// feedEvery is how often the ledger is filled when nobody looks at it, so
	// that whoever looks first does not wait.
	feedEvery = 2 * time.Second
	// aheadShare bounds what reckoning ahead takes: one part in so many of one
	// processor's time, once it was done the first time.
	aheadShare = 20
)

func newFeed(store *bolt.Store, p *programme.Programme) (*feed, error) {
	known, err := knownStandards(p.Standard)
	if err != nil {
		return nil, err
	}
	return &feed{store: store, programme: p, known: known, ledger: ledger.New(ledger.Settings{Zone: p.Zone, Standards: known, Advice: p.Advice})}, nil
}

// knownStandards are the tables that earlier checks may have been graded by:
// the one in force and all that are built in.
func knownStandards(inForce *grading.Standard) ([]*grading.Standard, error) {
	builtin, err := standard.Builtin()
	if err != nil {
		return nil, err
	}
	same := func(s *grading.Standard) bool { return s.ID == inForce.ID && s.Edition == inForce.Edition }
	return append([]*grading.Standard{inForce}, slices.DeleteFunc(builtin, same)...), nil
}

// catchUp files in the ledger what the store has and the ledger has not.
func (f *feed) catchUp(ctx context.Context) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if now := time.Now(); now.Sub(f.people) > peopleEvery {
		if err := f.readPeople(ctx); err != nil {
			return err
		}
		f.people = now
	}
	for {
		checks, err := f.store.Filed(ctx, f.ledger.View().Position(), feedBatch)
		if err != nil {
			return err
		}
		f.ledger.Apply(checks...)
		if len(checks) < feedBatch {
			f.filled.Store(true)
			return nil
		}
	}
}

func (f *feed) readPeople(ctx context.Context) error {
	after := session.PersonID("")
	for {
		people, err := f.store.People(ctx, after, feedBatch)
		if err != nil {
			return err
		}
		f.ledger.People(people...)
		if len(people) < feedBatch {
			return nil
		}
		after = people[len(people)-1].ID
	}
}

// round is one of the station's loops: catchUp, then the week's figures.
func (f *feed) round(ctx context.Context) (bool, error) {
	err := f.catchUp(ctx)
	if err == nil {
		f.reckonWeeks(ctx, time.Now())
	}
	return false, err
}

// reckonAhead is one of the station's loops: it reckons the what-if of the
// whole season anew when checks came, by one goroutine. The first time grades
// every lot again by every remedy, some ten seconds for a million; the ledger
// keeps that, so that a what-if of any filter is quick afterwards and a check
// more costs microseconds.
func (f *feed) reckonAhead(ctx context.Context) (bool, error) {
	if !f.filled.Load() {
		return false, nil
	}
	view, begun := f.ledger.View(), time.Now()
	last := f.ahead.Load()
	if last != nil && (last.position == view.Position() || begun.Sub(last.at) < aheadShare*last.took) {
		return false, nil
	}
	what := view.Aside(func() bool { return ctx.Err() != nil }).WhatIf(ledger.Filter{})
	if ctx.Err() == nil {
		f.ahead.Store(&seasonAhead{what, begun, time.Since(begun), view.Position()})
	}
	return false, nil
}

// season is the what-if of the whole season, its Districts each with their own
// best remedies first, and when it was reckoned. It answers at once: false
// while the first is being reckoned after a start. Once it is true, a what-if
// of any filter of the ledger's View is quick as well. Nothing of it is to be
// changed.
func (f *feed) season() (what ledger.WhatIf, at time.Time, ok bool) {
	a := f.ahead.Load()
	if a == nil {
		return what, at, false
	}
	return a.what, a.at, true
}

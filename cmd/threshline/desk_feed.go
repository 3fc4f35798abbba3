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
)

// feed updates the ledger from the store.
type feed struct {
	store     engine
	ledger    *ledger.Ledger
	programme *programme.Programme
	known     []*grading.Standard // that checks may have been graded by
	// weeks is what coordinators are told; nil until the ledger was filled once.
	weeks    atomic.Pointer[programme.Weeks]
	reckoned struct { // over what weeks was reckoned; for round alone
		position uint64
		at       time.Time
		took     time.Duration
	}

	turn   chan struct{} // holds one while somebody reads the store, who owns people
	people struct {
		begun, read time.Time // of the last reading of all people: begun, and done
		after       session.PersonID
	}

	whole  atomic.Uint64 // position of the newest check at a start
	filled atomic.Bool   // all that was in the store at a start has been read
	busy   atomic.Bool   // so many checks come in that nothing is reckoned ahead
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
	// freshWithin is how long a page waits for checks that were just filed. At the
	// start of a large programme it goes on without them.
	freshWithin = 100 * time.Millisecond
	// peopleEvery is how old the people's names on pages may be.
	peopleEvery = 30 * time.Second
	// feedEvery is how often the ledger is filled when nobody looks at it, so
	// that whoever looks first does not wait.
	feedEvery = 2 * time.Second
	// aheadShare bounds each kind of work that is done before anybody asks for it:
	// it takes at most one part in so many of one processor's time.
	aheadShare = 50
	// busyFrom is the number of changed checks in feedEvery from which the
	// season's what-if waits until somebody asks for it.
	busyFrom = 20
	// seasonHolds is how old the season's what-if may be.
	seasonHolds = 10 * time.Minute
)

func newFeed(store engine, p *programme.Programme) (*feed, error) {
	known, err := knownStandards(p.Standard)
	if err != nil {
		return nil, err
	}
	settings := ledger.Settings{Zone: p.Zone, Standards: known, Advice: p.Advice, Dangers: p.Dangers}
	return &feed{store: store, programme: p, known: known, ledger: ledger.New(settings), turn: make(chan struct{}, 1)}, nil
}

// knownStandards are the tables that earlier checks may have been graded by:
// the one in force and all that are built in.
func knownStandards(inForce *grading.Standard) ([]*grading.Standard, error) {
	builtin, err := shipped()
	if err != nil {
		return nil, err
	}
	same := func(s *grading.Standard) bool { return s.ID == inForce.ID && s.Edition == inForce.Edition }
	return append([]*grading.Standard{inForce}, slices.DeleteFunc(slices.Clone(builtin), same)...), nil
}

// shipped are all tables that are built in, read once.
var shipped = sync.OnceValues(standard.Builtin)

// fresh is catchUp for a page, which does not wait for long.
func (f *feed) fresh(ctx context.Context) error { return f.read(ctx, time.After(freshWithin)) }

// catchUp files in the ledger what is new in the store.
func (f *feed) catchUp(ctx context.Context) error { return f.read(ctx, nil) }

// read is catchUp until enough says to stop; the rest is left to the next time.
func (f *feed) read(ctx context.Context, enough <-chan time.Time) error {
	select {
	case f.turn <- struct{}{}:
	default:
		select {
		case f.turn <- struct{}{}:
		case <-enough:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	defer func() { <-f.turn }()
	for _, part := range []func(context.Context) (more bool, err error){f.readPeople, f.readChecks} {
		for {
			more, err := part(ctx)
			if err != nil {
				return err
			}
			if !more {
				break
			}
			select {
			case <-enough:
				return nil
			default:
			}
		}
	}
	return nil
}

// readChecks files the next checks, and reports whether there are more.
func (f *feed) readChecks(ctx context.Context) (more bool, err error) {
	if f.whole.Load() == 0 {
		newest, err := f.store.Newest(ctx, 1)
		if err != nil {
			return false, err
		}
		if len(newest) > 0 {
			f.whole.Store(newest[0].Position)
		}
	}
	checks, err := f.store.Filed(ctx, f.ledger.View().Position(), feedBatch)
	if err != nil {
		return false, err
	}
	f.ledger.Apply(checks...)
	if len(checks) == feedBatch {
		return true, nil
	}
	f.filled.Store(true)
	return false, nil
}

// readPeople notes the next people, if it is time, and reports whether there
// are more.
func (f *feed) readPeople(ctx context.Context) (more bool, err error) {
	now, p := time.Now(), &f.people
	if p.after == "" {
		if now.Sub(p.read) < max(peopleEvery, aheadShare*p.read.Sub(p.begun)) {
			return false, nil
		}
		p.begun = now
	}
	people, err := f.store.People(ctx, p.after, feedBatch)
	if err != nil {
		return false, err
	}
	f.ledger.People(people...)
	if len(people) == feedBatch {
		p.after = people[len(people)-1].ID
		return true, nil
	}
	p.after, p.read = "", time.Now()
	return false, nil
}

// progress is how much of the store the ledger has read after a start: how many
// checks, and which part of all they are. ok is false once all is read.
func (f *feed) progress() (checks int, part float64, ok bool) {
	if f.filled.Load() {
		return 0, 0, false
	}
	view := f.ledger.View()
	if whole := f.whole.Load(); whole > 0 {
		part = min(float64(view.Position())/float64(whole), 1)
	}
	return view.Len(), part, true
}

// round is one of the station's loops: catchUp, then the week's figures.
func (f *feed) round(ctx context.Context) (bool, error) {
	before := f.ledger.View().Position()
	err := f.catchUp(ctx)
	f.busy.Store(f.ledger.View().Position()-before >= busyFrom)
	if err == nil {
		f.reckonWeeks(ctx, time.Now())
	}
	return false, err
}

// reckonAhead is one of the station's loops: it reckons the what-if of the
// whole season anew when checks came, by one goroutine, unless so many come that
// the phones need the machine. The first time grades every lot again by every
// remedy, some ten seconds for a million; the ledger keeps that, so that a
// what-if of any filter is quick afterwards and a check more costs microseconds.
func (f *feed) reckonAhead(ctx context.Context) (bool, error) {
	if !f.filled.Load() || f.busy.Load() {
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
// while the first is being reckoned after a start, and when the last is too
// old. Nothing of it is to be changed.
func (f *feed) season() (what ledger.WhatIf, at time.Time, ok bool) {
	a := f.ahead.Load()
	if a == nil || a.position != f.ledger.View().Position() && time.Since(a.at) > seasonHolds {
		return what, at, false
	}
	return a.what, a.at, true
}

// Package feed keeps a ledger up to date with the store, and reckons ahead what
// pages and phones ask of it.
package feed

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

// Store is what a feed reads.
type Store interface {
	Filed(ctx context.Context, after uint64, n int) ([]session.Check, error)
	Newest(ctx context.Context, n int) ([]session.Check, error)
	People(ctx context.Context, after session.PersonID, n int) ([]session.Person, error)
}

// Feed updates a ledger from the store.
type Feed struct {
	Ledger *ledger.Ledger
	Known  []*grading.Standard // that checks may have been graded by
	// Weeks is what coordinators are told; nil until the ledger was filled once.
	Weeks    atomic.Pointer[programme.Weeks]
	reckoned struct { // over what weeks was reckoned; for round alone
		position uint64
		at       time.Time
		took     time.Duration
	}

	store     Store
	programme *programme.Programme

	// Turn holds one while somebody reads the store, who owns people.
	Turn   chan struct{}
	people struct {
		begun, read time.Time // of the last reading of all people: begun, and done
		after       session.PersonID
	}

	whole  atomic.Uint64 // position of the newest check at a start
	Filled atomic.Bool   // all that was in the store at a start has been read
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
	// Batch is how many records are read at once.
	Batch = 2000
	// freshWithin is how long a page waits for checks that were just filed. At the
	// start of a large programme it goes on without them.
	freshWithin = 100 * time.Millisecond
	// peopleEvery is how old the people's names on pages may be.
	peopleEvery = 30 * time.Second
	// Every is how often the ledger is filled when nobody looks at it, so
	// that whoever looks first does not wait.
	Every = 2 * time.Second
	// aheadShare bounds each kind of work that is done before anybody asks for it:
	// it takes at most one part in so many of one processor's time.
	aheadShare = 50
	// busyFrom is the number of changed checks in Every from which the
	// season's what-if waits until somebody asks for it.
	busyFrom = 20
	// seasonHolds is how old the season's what-if may be.
	seasonHolds = 10 * time.Minute
)

// New feeds a programme's ledger from a store, to be filled by [Feed.CatchUp].
func New(store Store, p *programme.Programme) (*Feed, error) {
	known, err := knownStandards(p.Standard)
	if err != nil {
		return nil, err
	}
	settings := ledger.Settings{Zone: p.Zone, Standards: known, Advice: p.Advice, Dangers: p.Dangers}
	return &Feed{store: store, programme: p, Known: known, Ledger: ledger.New(settings), Turn: make(chan struct{}, 1)}, nil
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

// Fresh is CatchUp for a page, which does not wait for long.
func (f *Feed) Fresh(ctx context.Context) error { return f.Read(ctx, time.After(freshWithin)) }

// CatchUp files in the ledger what is new in the store.
func (f *Feed) CatchUp(ctx context.Context) error { return f.Read(ctx, nil) }

// Read is CatchUp until enough says to stop; the rest is left to the next time.
func (f *Feed) Read(ctx context.Context, enough <-chan time.Time) error {
	select {
	case f.Turn <- struct{}{}:
	default:
		select {
		case f.Turn <- struct{}{}:
		case <-enough:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	defer func() { <-f.Turn }()
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
func (f *Feed) readChecks(ctx context.Context) (more bool, err error) {
	if f.whole.Load() == 0 {
		newest, err := f.store.Newest(ctx, 1)
		if err != nil {
			return false, err
		}
		if len(newest) > 0 {
			f.whole.Store(newest[0].Position)
		}
	}
	checks, err := f.store.Filed(ctx, f.Ledger.View().Position(), Batch)
	if err != nil {
		return false, err
	}
	f.Ledger.Apply(checks...)
	if len(checks) == Batch {
		return true, nil
	}
	f.Filled.Store(true)
	return false, nil
}

// readPeople notes the next people, if it is time, and reports whether there
// are more.
func (f *Feed) readPeople(ctx context.Context) (more bool, err error) {
	now, p := time.Now(), &f.people
	if p.after == "" {
		if now.Sub(p.read) < max(peopleEvery, aheadShare*p.read.Sub(p.begun)) {
			return false, nil
		}
		p.begun = now
	}
	people, err := f.store.People(ctx, p.after, Batch)
	if err != nil {
		return false, err
	}
	f.Ledger.People(people...)
	if len(people) == Batch {
		p.after = people[len(people)-1].ID
		return true, nil
	}
	p.after, p.read = "", time.Now()
	return false, nil
}

// Progress is how much of the store the ledger has read after a start: how many
// checks, and which part of all they are. ok is false once all is read.
func (f *Feed) Progress() (checks int, part float64, ok bool) {
	if f.Filled.Load() {
		return 0, 0, false
	}
	view := f.Ledger.View()
	if whole := f.whole.Load(); whole > 0 {
		part = min(float64(view.Position())/float64(whole), 1)
	}
	return view.Len(), part, true
}

// Round is one of the station's loops: CatchUp, then the week's figures.
func (f *Feed) Round(ctx context.Context) (bool, error) {
	before := f.Ledger.View().Position()
	err := f.CatchUp(ctx)
	f.busy.Store(f.Ledger.View().Position()-before >= busyFrom)
	if err == nil {
		f.ReckonWeeks(ctx, time.Now())
	}
	return false, err
}

// ReckonAhead is one of the station's loops: it reckons the what-if of the
// whole season anew when checks came, by one goroutine, and stops while so many come
// that the phones need the machine. The first time grades every lot again by every
// remedy, some ten seconds for a million; the ledger keeps what was graded, so that it
// goes on from there, a what-if of any filter is quick afterwards and a check more
// costs microseconds.
func (f *Feed) ReckonAhead(ctx context.Context) (bool, error) {
	if !f.Filled.Load() || f.busy.Load() {
		return false, nil
	}
	view, begun := f.Ledger.View(), time.Now()
	last := f.ahead.Load()
	if last != nil && (last.position == view.Position() || begun.Sub(last.at) < aheadShare*last.took) {
		return false, nil
	}
	stopped := false
	what := view.Aside(func() bool {
		stopped = stopped || ctx.Err() != nil || f.busy.Load()
		return stopped
	}).WhatIf(ledger.Filter{})
	if !stopped {
		f.ahead.Store(&seasonAhead{what, begun, time.Since(begun), view.Position()})
	}
	return false, nil
}

// Season is the what-if of the whole season, its Districts each with their own
// best remedies first, and when it was reckoned. It answers at once: false
// while the first is being reckoned after a start, and when the last is too
// old. Nothing of it is to be changed.
func (f *Feed) Season() (what ledger.WhatIf, at time.Time, ok bool) {
	a := f.ahead.Load()
	if a == nil || a.position != f.Ledger.View().Position() && time.Since(a.at) > seasonHolds {
		return what, at, false
	}
	return a.what, a.at, true
}

// Package reckon keeps the figures over the ledger that pages show, and has each
// worked out only once at a time.
package reckon

import (
	"fmt"
	"time"

	"threshline/session/ledger"
	"threshline/session/ledger/hands"
)

// Settings is what figures are made from. The ledger and the clock must be set.
type Settings struct {
	Ledger *ledger.Ledger
	Now    func() time.Time
	// Reading reports whether the store is still read into the ledger after a start.
	Reading func() bool
	Pace
	// Broken is told of a panic in slow work, which nobody waits for.
	Broken func(why any)
}

// Pace is how slow work is waited for and done.
type Pace struct {
	// Enough returns a channel when a page begins to wait for a slow result: once
	// the channel is closed, the page goes on without the result. A nil Enough
	// closes it after a part of a second.
	Enough func() <-chan time.Time
	// Ahead returns at once the what-if of all checks that was reckoned before
	// anybody asked, for a large ledger, and when. nil means there is none.
	Ahead func() (what ledger.WhatIf, at time.Time, ok bool)
	// Aside runs slow work; nil is a goroutine.
	Aside func(work func())
}

// Figures are the summaries, what-ifs and findings of a ledger.
type Figures struct {
	Settings
	summaries *cache[ledger.Summary]
	whats     *cache[ledger.WhatIf]
	qualities *cache[ledger.Quality]
	held      *cache[hands.Held]
}

// New makes figures, of which none is worked out yet.
func New(s Settings) *Figures {
	if s.Enough == nil {
		s.Enough = func() <-chan time.Time {
			ended := make(chan time.Time)
			time.AfterFunc(patience, func() { close(ended) })
			return ended
		}
	}
	if s.Aside == nil {
		s.Aside = func(work func()) { go work() }
	}
	asked := func(why any) { panic(why) } // in the goroutine of who asked
	return &Figures{s, newCache[ledger.Summary](asked), newCache[ledger.WhatIf](s.Broken), newCache[ledger.Quality](s.Broken), newCache[hands.Held](s.Broken)}
}

// Summary reads the checks of a filter together: a matter of a tenth of a
// second for a million.
func (f *Figures) Summary(of ledger.Filter) ledger.Summary {
	view, old := f.Ledger.View(), oldEnough
	if f.Reading() {
		old = freshStart
	}
	return f.summaries.get(view, of, f.Now(), old, nil, func(work func()) { work() }, view.Summary).Result
}

// WhatIfs grades the lots of a filter again. Remedies that change nothing in
// any lot are left out. It waits until enough says to stop. Nothing is ready
// before the whole store was read.
func (f *Figures) WhatIfs(of ledger.Filter, enough <-chan time.Time) Reckoned[ledger.WhatIf] {
	if f.Reading() {
		return Reckoned[ledger.WhatIf]{}
	}
	view := quiet(f.Ledger.View())
	r, known := f.ahead(view, &of)
	if !known {
		r = f.whats.get(view, of, f.Now(), oldEnough, enough, f.Aside, view.WhatIf)
	}
	r.Result.ThisLot, r.Result.Season = acting(r.Result.ThisLot), acting(r.Result.Season)
	return r
}

// ahead is the what-if that was reckoned ahead, where of asks for that.
func (f *Figures) ahead(view *ledger.View, of *ledger.Filter) (r Reckoned[ledger.WhatIf], ok bool) {
	if f.Ahead == nil || view.Len() < large || fmt.Sprintf("%+v", *of) != fmt.Sprintf("%+v", ledger.Filter{}) {
		return r, false
	}
	r.count = view.Len()
	r.Result, r.at, r.Ready = f.Ahead()
	return r, r.Ready
}

// acting keeps the remedies that have something to act on in some lot.
func acting(list []ledger.Outcome) (kept []ledger.Outcome) {
	for _, o := range list {
		if o.Done > 0 {
			kept = append(kept, o)
		}
	}
	return kept
}

// Findings returns the findings about the people who sent the checks of a
// filter. They are compared with the whole programme, whatever the filter. It
// waits until enough says to stop. Nothing is ready before the whole store was
// read.
func (f *Figures) Findings(of ledger.Filter, enough <-chan time.Time) Reckoned[ledger.Quality] {
	if f.Reading() {
		return Reckoned[ledger.Quality]{}
	}
	view := quiet(f.Ledger.View())
	whole := func(ledger.Filter) ledger.Quality { return view.Quality() }
	r := f.qualities.get(view, ledger.Filter{}, f.Now(), oldEnough, enough, f.Aside, whole)
	r.Result = r.Result.Of(view.Reporters(of))
	return r
}

// Held is what hold finds of the checks by hand of a filter in a view.
func (f *Figures) Held(view *ledger.View, of ledger.Filter, enough <-chan time.Time, hold func(ledger.Filter) hands.Held) Reckoned[hands.Held] {
	return f.held.get(view, of, f.Now(), oldEnough, enough, f.Aside, hold)
}

// quiet leaves the other processors to the phones while figures over a large
// ledger are reckoned.
func quiet(view *ledger.View) *ledger.View {
	if view.Len() < large {
		return view
	}
	return view.Aside(func() bool { return false })
}

package desk

import (
	"fmt"
	"sync"
	"time"

	"threshline/session/ledger"
)

// cache keeps what the ledger reckoned last: a page asks for the same several
// times, and several people look at the same season.
type cache[T any] struct {
	mu   sync.Mutex
	kept map[string]reckoned[T]
}

// reckoned is a result, and over what it was reckoned.
type reckoned[T any] struct {
	result   T
	position uint64
	count    int
	at       time.Time
}

const (
	// mostKept is how many results of a kind are kept.
	mostKept = 64
	// large is a ledger over which results may be a little old: with a million
	// checks some take seconds, and a check more changes nothing to be seen.
	// Source: assumed, [ASSUMED-DESK].
	large     = 50_000
	oldEnough = time.Minute
)

// get gives what was reckoned for the filter before, if it still holds, or has
// it reckoned.
func (c *cache[T]) get(view *ledger.View, f ledger.Filter, now time.Time, reckon func(ledger.Filter) T) T {
	key := fmt.Sprintf("%+v", f)
	c.mu.Lock()
	r, ok := c.kept[key]
	c.mu.Unlock()
	same := r.position == view.Position() && r.count == view.Len()
	if ok && (same || r.count >= large && now.Sub(r.at) < oldEnough) {
		return r.result
	}
	r = reckoned[T]{reckon(f), view.Position(), view.Len(), now}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.kept == nil || len(c.kept) >= mostKept {
		c.kept = map[string]reckoned[T]{}
	}
	c.kept[key] = r
	return r.result
}

// summary reads the checks of a filter together.
func (d *Desk) summary(f ledger.Filter) ledger.Summary {
	view := d.cfg.Ledger.View()
	return d.summaries.get(view, f, d.cfg.Now(), view.Summary)
}

// whatIfs grades the lots of a filter again; remedies that have something to
// act on in no lot are left out.
func (d *Desk) whatIfs(f ledger.Filter) ledger.WhatIf {
	view := d.cfg.Ledger.View()
	what := d.whats.get(view, f, d.cfg.Now(), view.WhatIf)
	what.ThisLot, what.Season = acting(what.ThisLot), acting(what.Season)
	return what
}

// qualityOf tests the reports of a filter.
func (d *Desk) qualityOf(f ledger.Filter) ledger.Quality {
	view := d.cfg.Ledger.View()
	return d.qualities.get(view, f, d.cfg.Now(), view.Quality)
}

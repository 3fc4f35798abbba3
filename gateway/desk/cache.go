package desk

import (
	"fmt"
	"net/http"
	"sync"
	"time"

	"threshline/session/ledger"
)

// cache keeps the last results of the ledger, since a page asks for the same
// several times, and several people look at the same season. Each filter is
// reckoned only once at a time, even if several people ask.
type cache[T any] struct {
	slots  chan struct{} // one for each filter that is reckoned at once
	broken func(any)     // told of a panic

	mu   sync.Mutex
	kept map[string]*reckoned[T]
}

func newCache[T any](broken func(any)) *cache[T] {
	return &cache[T]{slots: make(chan struct{}, mostReckoning), broken: broken, kept: map[string]*reckoned[T]{}}
}

// reckoned is a result, and the view of the ledger that it was reckoned from.
type reckoned[T any] struct {
	result   T
	ready    bool // there is a result
	position uint64
	count    int
	at       time.Time
	under    chan struct{} // closed when the reckoning under way ends; nil when there is none
}

const (
	// mostKept is how many results of a kind are kept.
	mostKept = 64
	// mostReckoning is how many filters of a kind are reckoned at once.
	mostReckoning = 2
	// large is the size from which a ledger's results may be a little old: with a
	// million checks some take seconds, and one more check changes nothing that
	// can be seen. Source: assumed, [ASSUMED-DESK].
	large     = 50_000
	oldEnough = time.Minute
	// patience is how long a page waits for a slow result before it shows the last
	// one, or says that it is being reckoned. With the rest of the page that is
	// under half a second. Source: assumed, [ASSUMED-DESK].
	patience = 250 * time.Millisecond
	// lookAgain is after how many seconds such a page reloads itself.
	lookAgain = "5"
	// freshStart is how old a result over a large ledger may be while the store is
	// read into it after a start.
	freshStart = 3 * time.Second
)

// holds reports whether r is still valid for a view; over a large view it may
// be up to this old.
func (r *reckoned[T]) holds(view *ledger.View, now time.Time, old time.Duration) bool {
	same := r.position >= view.Position() && r.count >= view.Len()
	return r.ready && (same || r.count >= large && now.Sub(r.at) < old)
}

// old says in a page's words when a result that may be out of date was
// reckoned; "" for one that is valid.
func (r *reckoned[T]) old(zone *time.Location) string {
	if r.count < large {
		return ""
	}
	return r.at.In(zone).Format("15:04")
}

// get returns the stored result for a filter if it is still valid. Otherwise it
// has a new one reckoned and waits until enough says to stop; then it returns
// what there is: an older result, or none. Over a large ledger a result may be
// up to this old.
func (c *cache[T]) get(view *ledger.View, f ledger.Filter, now time.Time, old time.Duration, enough <-chan time.Time, aside func(func()), reckon func(ledger.Filter) T) reckoned[T] {
	key := fmt.Sprintf("%+v %v", f, old)
	for range 3 { // what is under way may be for an earlier ledger
		c.mu.Lock()
		r := c.entry(key)
		if r.holds(view, now, old) {
			defer c.mu.Unlock()
			return *r
		}
		under, begin := r.under, r.under == nil
		if begin {
			under = make(chan struct{})
			r.under = under
		}
		c.mu.Unlock()
		if begin {
			aside(func() { c.reckon(r, view, now, func() T { return reckon(f) }) })
		}
		select {
		case <-under:
			continue
		case <-enough:
		}
		break
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	return *c.entry(key)
}

// entry finds or begins the place of a result.
func (c *cache[T]) entry(key string) *reckoned[T] {
	if c.kept[key] == nil {
		if len(c.kept) >= mostKept {
			clear(c.kept)
		}
		c.kept[key] = &reckoned[T]{}
	}
	return c.kept[key]
}

// reckon fills a place. The page may no longer wait for it, so a panic would
// reach nobody: it is logged, and the place stays as it was.
func (c *cache[T]) reckon(r *reckoned[T], view *ledger.View, now time.Time, do func() T) {
	c.slots <- struct{}{}
	defer func() {
		<-c.slots
		why := recover()
		c.mu.Lock()
		close(r.under)
		r.under = nil
		c.mu.Unlock()
		if why != nil {
			c.broken(why)
		}
	}()
	result := do()
	c.mu.Lock()
	defer c.mu.Unlock()
	r.result, r.ready, r.position, r.count, r.at = result, true, view.Position(), view.Len(), now
}

// summary reads the checks of a filter together: a matter of a tenth of a
// second for a million.
func (d *Desk) summary(f ledger.Filter) ledger.Summary {
	view, old := d.cfg.Ledger.View(), oldEnough
	if d.reading() != "" {
		old = freshStart
	}
	return d.summaries.get(view, f, d.cfg.Now(), old, nil, func(work func()) { work() }, view.Summary).result
}

// whatIfs grades the lots of a filter again. Remedies that change nothing in
// any lot are left out. It waits until enough says to stop. Nothing is ready
// before the whole store was read.
func (d *Desk) whatIfs(f ledger.Filter, enough <-chan time.Time) reckoned[ledger.WhatIf] {
	if d.reading() != "" {
		return reckoned[ledger.WhatIf]{}
	}
	view := quiet(d.cfg.Ledger.View())
	r, known := d.ahead(view, &f)
	if !known {
		r = d.whats.get(view, f, d.cfg.Now(), oldEnough, enough, d.cfg.Aside, view.WhatIf)
	}
	r.result.ThisLot, r.result.Season = acting(r.result.ThisLot), acting(r.result.Season)
	return r
}

// ahead is the what-if that was reckoned ahead, where f asks for that.
func (d *Desk) ahead(view *ledger.View, f *ledger.Filter) (r reckoned[ledger.WhatIf], ok bool) {
	if d.cfg.Ahead == nil || view.Len() < large || fmt.Sprintf("%+v", *f) != fmt.Sprintf("%+v", ledger.Filter{}) {
		return r, false
	}
	r.count = view.Len()
	r.result, r.at, r.ready = d.cfg.Ahead()
	return r, r.ready
}

// findingsOf returns the findings about the people who sent the checks of a
// filter. They are compared with the whole programme, whatever the filter. It
// waits until enough says to stop. Nothing is ready before the whole store was
// read.
func (d *Desk) findingsOf(f ledger.Filter, enough <-chan time.Time) reckoned[ledger.Quality] {
	if d.reading() != "" {
		return reckoned[ledger.Quality]{}
	}
	view := quiet(d.cfg.Ledger.View())
	whole := func(ledger.Filter) ledger.Quality { return view.Quality() }
	r := d.qualities.get(view, ledger.Filter{}, d.cfg.Now(), oldEnough, enough, d.cfg.Aside, whole)
	r.result = r.result.Of(view.Reporters(f))
	return r
}

// quiet leaves the other processors to the phones while figures over a large
// ledger are reckoned.
func quiet(view *ledger.View) *ledger.View {
	if view.Len() < large {
		return view
	}
	return view.Aside(func() bool { return false })
}

// comeBack makes the browser reload a page that is not complete yet.
func comeBack(w http.ResponseWriter) { w.Header().Set("Refresh", lookAgain) }

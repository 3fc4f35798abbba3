package reckon

import (
	"fmt"
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
	kept map[string]*Reckoned[T]
}

func newCache[T any](broken func(any)) *cache[T] {
	return &cache[T]{slots: make(chan struct{}, mostReckoning), broken: broken, kept: map[string]*Reckoned[T]{}}
}

// Reckoned is a result, and the view of the ledger that it was reckoned from.
type Reckoned[T any] struct {
	Result   T
	Ready    bool // there is a result
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
	// freshStart is how old a result over a large ledger may be while the store is
	// read into it after a start.
	freshStart = 3 * time.Second
)

// holds reports whether r is still valid for a view; over a large view it may
// be up to this old.
func (r *Reckoned[T]) holds(view *ledger.View, now time.Time, old time.Duration) bool {
	same := r.position >= view.Position() && r.count >= view.Len()
	return r.Ready && (same || r.count >= large && now.Sub(r.at) < old)
}

// Old says in a page's words when a result that may be out of date was
// reckoned; "" for one that is valid.
func (r *Reckoned[T]) Old(zone *time.Location) string {
	if r.count < large {
		return ""
	}
	return r.at.In(zone).Format("15:04")
}

// get returns the stored result for a filter if it is still valid. Otherwise it
// has a new one reckoned and waits until enough says to stop; then it returns
// what there is: an older result, or none. Over a large ledger a result may be
// up to this old.
func (c *cache[T]) get(view *ledger.View, f ledger.Filter, now time.Time, old time.Duration, enough <-chan time.Time, aside func(func()), reckon func(ledger.Filter) T) Reckoned[T] {
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
func (c *cache[T]) entry(key string) *Reckoned[T] {
	if c.kept[key] == nil {
		if len(c.kept) >= mostKept {
			clear(c.kept)
		}
		c.kept[key] = &Reckoned[T]{}
	}
	return c.kept[key]
}

// reckon fills a place. The page may no longer wait for it, so a panic would
// reach nobody: it is logged, and the place stays as it was.
func (c *cache[T]) reckon(r *Reckoned[T], view *ledger.View, now time.Time, do func() T) {
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
	r.Result, r.Ready, r.position, r.count, r.at = result, true, view.Position(), view.Len(), now
}

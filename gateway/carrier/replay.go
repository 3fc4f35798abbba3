package carrier

import (
	"sync"
	"time"
)

// replays remembers which signed requests came, for at least a span. Only
// requests with a right signature get here, so the sender bounds its size. It
// is one process's memory: with several gateways the message's id in the
// store still makes a repeated message harmless.
type replays struct {
	mu       sync.Mutex
	span     time.Duration
	turned   time.Time
	now, old map[[32]byte]struct{}
}

func newReplays(span time.Duration) *replays {
	return &replays{span: span, now: map[[32]byte]struct{}{}}
}

// first reports whether a signature is new, and remembers it.
func (r *replays) first(sum [32]byte, now time.Time) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	if now.Sub(r.turned) > r.span {
		// What the older half held was seen over a span ago: its time is too
		// far off by now.
		r.old, r.now, r.turned = r.now, map[[32]byte]struct{}{}, now
	}
	_, inNow := r.now[sum]
	_, inOld := r.old[sum]
	if inNow || inOld {
		return false
	}
	r.now[sum] = struct{}{}
	return true
}

// forget lets a signature come again.
func (r *replays) forget(sum [32]byte) {
	r.mu.Lock()
	defer r.mu.Unlock()
	delete(r.now, sum)
	delete(r.old, sum)
}

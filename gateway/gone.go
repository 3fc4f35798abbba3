package gateway

import (
	"fmt"
	"maps"
	"slices"
	"sync"
	"time"

	"threshline/gateway/carrier"
	"threshline/session"
)

// goneKept bounds each of the two generations of phones that gone holds.
const goneKept = 10_000

// gone keeps for a day what was counted of phones that were just forgotten. So nobody
// can send without limit, or guess codes without limit, by leaving and coming back. It
// is kept in memory only, since the store must hold nothing about them.
type gone struct {
	mu         sync.Mutex
	young, old map[session.Phone]session.Dialogue
}

// leave notes the counts of a phone's dialogue that is about to be erased.
func (g *gone) leave(d session.Dialogue, now time.Time) {
	g.mu.Lock()
	defer g.mu.Unlock()
	over := func(_ session.Phone, counts session.Dialogue) bool { return counts.HeardADay(now) == 0 }
	maps.DeleteFunc(g.young, over)
	maps.DeleteFunc(g.old, over)
	if g.young == nil || len(g.young) >= goneKept {
		g.old, g.young = g.young, map[session.Phone]session.Dialogue{}
	}
	var counts session.Dialogue
	counts.TakeCounts(d)
	g.young[d.Phone] = counts
}

// back returns the counts of a phone that left within a day.
func (g *gone) back(p session.Phone, now time.Time) (session.Dialogue, bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	d, ok := g.young[p]
	if !ok {
		d, ok = g.old[p]
	}
	return d, ok && d.HeardADay(now) > 0
}

// returning is a view in which a phone that came back has its counts.
type returning struct {
	session.View
	phone  session.Phone
	counts session.Dialogue
}

func (r returning) Dialogue(p session.Phone) (session.Dialogue, error) {
	d, err := r.View.Dialogue(p)
	if p == r.phone && d.Heard == 0 {
		d.TakeCounts(r.counts)
	}
	return d, err
}

// leaves returns the dialogue of a phone that an exchange forgets, with this
// message counted; nil when it forgets nobody who is at the phone.
func leaves(v session.View, w *session.Writes, in carrier.Inbound, now time.Time) (*session.Dialogue, error) {
	if !slices.ContainsFunc(w.Forget, func(t session.Trace) bool { return t.Phone == in.From }) {
		return nil, nil
	}
	d, err := v.Dialogue(in.From)
	if err != nil {
		return nil, fmt.Errorf("gateway: read what was counted of a phone: %w", err)
	}
	d.Hear(now, 0)
	return &d, nil
}

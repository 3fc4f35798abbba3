package gateway

import (
	"sync"
	"time"
)

// repeats keeps repeated lines from flooding the log: it allows one line a
// second for each kind, with the number of lines left out before it. The
// metrics count every one. The zero value is ready for use.
type repeats struct {
	mu    sync.Mutex
	kinds map[string]*repeated // as many as channels and reasons: none comes from a request
}

type repeated struct {
	said time.Time
	more int
}

// lineEvery is how often one kind of line is written at most. Source: our choice.
const lineEvery = time.Second

// say reports whether a line of the kind is to be written now, and how many of
// it were left out since the last.
func (r *repeats) say(kind string, now time.Time) (leftOut int, ok bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	k := r.kinds[kind]
	if k == nil {
		if r.kinds == nil {
			r.kinds = map[string]*repeated{}
		}
		k = &repeated{}
		r.kinds[kind] = k
	}
	if since := now.Sub(k.said); since >= 0 && since < lineEvery { // a clock that went back writes
		k.more++
		return 0, false
	}
	leftOut, k.said, k.more = k.more, now, 0
	return leftOut, true
}

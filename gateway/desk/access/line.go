package access

import (
	"context"
	"errors"
	"sync"
)

// line is where passwords wait to be hashed, one at a time: each takes a processor
// and Cost.Memory for a good part of a second, and phones need the rest. Each
// visitor's address has a line of its own, whose first stands in the common one,
// so that whoever sends many guesses waits behind their own. A browser that is
// known passes the line of strangers.
type line struct {
	slot      chan struct{} // who is served
	strangers chan struct{} // which stranger is next

	mu  sync.Mutex
	own map[attempt]*ownLine
}

type ownLine struct {
	first chan struct{}
	n     int
}

// How many may stand in the line of one address, and how many addresses have one.
// Source: assumed, [ASSUMED-DESK].
const (
	mostInLine = freePerAccount
	mostLines  = 200
)

// errLine: too many are waiting already.
var errLine = errors.New("access: too many wait to sign in")

func newLine() *line {
	return &line{slot: make(chan struct{}, 1), strangers: make(chan struct{}, 1), own: map[attempt]*ownLine{}}
}

// enter waits until it is one's turn; leave gives it to the next. The error is
// errLine, or of the context.
func (l *line) enter(ctx context.Context, who attempt) (leave func(), err error) {
	l.mu.Lock()
	own, stranger := l.own[who], who.browser == ""
	if own == nil && stranger && len(l.own) >= mostLines || own != nil && own.n >= mostInLine {
		l.mu.Unlock()
		return nil, errLine
	}
	if own == nil {
		own = &ownLine{first: make(chan struct{}, 1)}
		l.own[who] = own
	}
	own.n++
	l.mu.Unlock()

	stands := []chan struct{}{own.first, l.strangers, l.slot}
	if !stranger {
		stands = []chan struct{}{own.first, l.slot}
	}
	var held []chan struct{}
	leave = func() {
		for _, c := range held {
			<-c
		}
		l.mu.Lock()
		defer l.mu.Unlock()
		if own.n--; own.n == 0 {
			delete(l.own, who)
		}
	}
	for _, c := range stands {
		select {
		case c <- struct{}{}:
			held = append(held, c)
		case <-ctx.Done():
			leave()
			return nil, ctx.Err()
		}
	}
	return leave, nil
}

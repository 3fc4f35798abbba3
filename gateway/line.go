package gateway

import (
	"slices"
	"sync"
	"time"

	"threshline/session"
)

// lines keeps the messages of one phone in order: each is handled after the one
// before it was answered. The zero value is ready for use.
type lines struct {
	mu sync.Mutex
	of map[session.Phone][]place // the first is being answered
}

// place is one message's in the line; it is closed when its turn has come, and nil if
// that was at once.
type place chan struct{}

// enter takes the last place.
func (l *lines) enter(phone session.Phone) place {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.of == nil {
		l.of = map[session.Phone][]place{}
	}
	var p place
	if len(l.of[phone]) > 0 {
		p = make(place)
	}
	l.of[phone] = append(l.of[phone], p)
	return p
}

// leave gives up a place, whether its message was answered or not.
func (l *lines) leave(phone session.Phone, p place) {
	l.mu.Lock()
	defer l.mu.Unlock()
	line := l.of[phone]
	i := slices.Index(line, p)
	line = slices.Delete(line, i, i+1)
	if len(line) == 0 {
		delete(l.of, phone)
		return
	}
	l.of[phone] = line
	if i == 0 {
		close(line[0])
	}
}

// comes waits for the turn, and reports whether it came in time.
func (p place) comes(within time.Duration) bool {
	if p == nil {
		return true
	}
	select {
	case <-p:
		return true
	default:
	}
	timer := time.NewTimer(within)
	defer timer.Stop()
	select {
	case <-p:
		return true
	case <-timer.C:
		return false
	}
}

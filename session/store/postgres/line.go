package postgres

import (
	"runtime"
	"sync"
	"sync/atomic"
	"time"
)

// groupSize bounds how many exchanges one statement carries.
const groupSize = 200

// line is where exchanges wait for a round trip, which serves many at once. Who
// comes while few are under way makes it in their own goroutine: to hand it over
// would cost more than the round trip.
type line[T any] struct {
	queue chan T
	trips chan struct{} // one for each round trip under way
	serve func(group []T)
	// alone is how long a trip is the only one: for so long those who wait gather
	// for the next, which serves more of them at once.
	alone time.Duration
	made  time.Time
	begun atomic.Int64 // when the last trip began, since made
	timed atomic.Bool  // somebody looks again for those who gather
}

func newLine[T any](waiting, trips int, alone time.Duration, serve func([]T)) *line[T] {
	return &line[T]{queue: make(chan T, waiting), trips: make(chan struct{}, trips), alone: alone, serve: serve, made: time.Now()}
}

// join puts one in line; false when too many wait. It is served by the time that
// serve tells it so, maybe before join returns.
func (l *line[T]) join(one T, beside *sync.WaitGroup) bool {
	select {
	case l.queue <- one:
	default:
		return false
	}
	l.lead(beside)
	return true
}

// lead serves a group of those who wait, unless enough round trips are under way.
// None is left behind: who joins looks for a free trip afterwards, and who ends a
// trip looks for those who wait, and so does a timer when one may hang.
func (l *line[T]) lead(beside *sync.WaitGroup) {
	if left := l.alone - (time.Since(l.made) - time.Duration(l.begun.Load())); left > 0 && len(l.trips) > 0 {
		if l.timed.CompareAndSwap(false, true) {
			time.AfterFunc(left, func() {
				if l.timed.Store(false); len(l.queue) > 0 {
					l.lead(beside)
				}
			})
		}
		return
	}
	select {
	case l.trips <- struct{}{}:
	default:
		return
	}
	l.begun.Store(int64(time.Since(l.made)))
	runtime.Gosched() // whoever is about to join does so first
	if group := l.gather(); len(group) > 0 {
		l.serve(group)
	}
	<-l.trips
	if len(l.queue) > 0 {
		beside.Go(func() { l.lead(beside) }) // its own exchange goes on
	}
}

// gather takes whoever waits.
func (l *line[T]) gather() (group []T) {
	for len(group) < groupSize {
		select {
		case one := <-l.queue:
			group = append(group, one)
		default:
			return group
		}
	}
	return group
}

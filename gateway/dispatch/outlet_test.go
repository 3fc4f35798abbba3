package dispatch_test

import (
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"threshline/gateway/dispatch"
	"threshline/session"
)

// A channel with a long queue and a slow carrier does not hold up another,
// and its messages are not written anew at every claim meanwhile.
func TestASlowChannelDoesNotHoldUpAnother(t *testing.T) {
	shelf, clock := newShelf(), &clock{now: start}
	slow, quick := &scripted{}, &scripted{}
	w, err := dispatch.New(dispatch.Config{
		Queue: shelf, Now: clock.Now,
		Outlets: []dispatch.Outlet{
			{Name: "slow", Carrier: slow, PerSecond: 1, Parallel: 1},
			{Name: "quick", Carrier: quick, Parallel: 20},
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	const queue = 600
	for i := range queue {
		o := queued(fmt.Sprintf("a%04d", i))
		o.Channel, o.To = "slow", session.Phone(fmt.Sprintf("+3363998%04d", i))
		shelf.put(o)
	}
	for i := range 100 {
		o := queued(fmt.Sprintf("b%04d", i))
		o.Channel, o.To = "quick", session.Phone(fmt.Sprintf("+3363997%04d", i))
		shelf.put(o)
	}
	seconds := 0
	for len(quick.calls) < 100 {
		for {
			n, err := w.Round(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			if n == 0 {
				break
			}
		}
		clock.set(clock.Now().Add(time.Second))
		if seconds++; seconds > 30 {
			t.Fatalf("after %d s the quick channel has handed on %d of 100", seconds, len(quick.calls))
		}
	}
	if most := 3 * queue; len(shelf.settled) > most {
		t.Errorf("%d writes for %d messages", len(shelf.settled), queue)
	}
}

// The slow carrier gets no more than its pace, whatever the queue.
func TestACarrierGetsNoMoreThanItsPace(t *testing.T) {
	shelf, clock := newShelf(), &clock{now: start}
	var mu sync.Mutex
	at := map[int64]int{}
	carrier := &scripted{}
	carrier.during = func() {
		mu.Lock()
		defer mu.Unlock()
		at[clock.Now().Unix()]++
	}
	w := newWorker(t, shelf, carrier, clock.Now, func(c *dispatch.Config) {
		c.Outlets[0].PerSecond, c.Outlets[0].Parallel = 5, 50
	})
	for i := range 100 {
		o := queued(fmt.Sprintf("m%04d", i))
		o.To = session.Phone(fmt.Sprintf("+3363998%04d", i))
		shelf.put(o)
	}
	for range 400 {
		if _, err := w.Round(t.Context()); err != nil {
			t.Fatal(err)
		}
		clock.set(clock.Now().Add(100 * time.Millisecond))
	}
	if len(carrier.calls) != 100 {
		t.Errorf("handed on %d of 100 in 40 s", len(carrier.calls))
	}
	for second, calls := range at {
		// The first second may use what was saved up before.
		if calls > 10 || calls > 5 && second != start.Unix() {
			t.Errorf("%d calls in second %d", calls, second-start.Unix())
		}
	}
}

// A pause that began under a clock years ahead ends when the clock is right, and what
// it put off goes out, too.
func TestAClockThatIsSetBackEndsAPause(t *testing.T) {
	shelf, clock := newShelf(), &clock{now: start.AddDate(4, 0, 0)}
	down := &dispatch.Refusal{Slow: true, After: time.Minute, Problem: "too many"}
	carrier := &scripted{answers: []error{down}}
	w := newWorker(t, shelf, carrier, clock.Now, nil)
	try := func(id string, calls int) {
		t.Helper()
		shelf.put(queued(id))
		if _, err := w.Round(t.Context()); err != nil {
			t.Fatal(err)
		}
		if len(carrier.calls) != calls {
			t.Errorf("at %s the carrier got %d messages, want %d", clock.Now(), len(carrier.calls), calls)
		}
	}
	try("a", 1)
	try("b", 1)
	clock.set(start)
	try("c", 4) // and a again, and b
}

// A record that nobody can read keeps no other message from going out: it may be the
// caution of a danger.
func TestWhatCannotBePutRightHoldsNothingUp(t *testing.T) {
	shelf, carrier := newShelf(), &scripted{}
	shelf.rotten = errors.New("a message that does not decode")
	shelf.put(queued("a"))
	w := newWorker(t, shelf, carrier, (&clock{now: start}).Now, nil)
	if _, err := w.Round(t.Context()); err != nil || len(carrier.calls) != 1 {
		t.Errorf("the carrier got %d messages, %v", len(carrier.calls), err)
	}
}

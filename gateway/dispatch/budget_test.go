package dispatch_test

import (
	"fmt"
	"sync"
	"testing"
	"time"

	"threshline/gateway/dispatch"
	"threshline/session"
)

// spending notes what a watcher is told about money.
type spending struct {
	faults
	mu    sync.Mutex
	marks []float64
}

func (s *spending) Spent(_ string, spent, _ float64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.marks = append(s.marks, spent)
}

// However many messages are under way at once, a day's money is never
// overspent, but for safety messages, and the programme is warned once at
// each mark.
func TestMessagesAtOnceDoNotOverspendTheDay(t *testing.T) {
	shelf, carrier, clock, watch := newShelf(), &scripted{}, &clock{now: start}, &spending{}
	w := newWorker(t, shelf, carrier, clock.Now, func(c *dispatch.Config) {
		c.Watcher = watch
		c.Channels[0].Parallel, c.Channels[0].PerSegment, c.Channels[0].DailyLimit = 50, 0.1, 3
	})
	for i := range 100 {
		o := queued(fmt.Sprintf("m%03d", i))
		o.To = session.Phone(fmt.Sprintf("+3363998%04d", i))
		if i%20 == 19 {
			o.Purpose = session.Safety
		}
		shelf.put(o)
	}
	work := func() {
		for {
			n, err := w.Round(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			if n == 0 {
				return
			}
		}
	}
	work()
	answers, safety := 0, 0
	for _, o := range carrier.calls {
		if o.Purpose == session.Safety {
			safety++
		} else {
			answers++
		}
	}
	if safety != 5 || answers+safety < 30 || answers > 30 {
		t.Errorf("%d safety messages of 5 and %d others went out for 3.00 at 0.10 each", safety, answers)
	}
	if len(watch.marks) != 2 {
		t.Errorf("warned at %v, want once at 2.40 and once at the limit", watch.marks)
	}
	// The rest waits for the next day, and then goes.
	clock.set(start.Add(17 * time.Hour)) // midnight
	work()
	if n := len(carrier.calls); n < 60 || n > 65 {
		t.Errorf("%d in two days of 30 each and 5 safety messages", n)
	}
}

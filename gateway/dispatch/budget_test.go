package dispatch_test

import (
	"context"
	"errors"
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

func (s *spending) Spent(_ string, _ session.Part, spent, _ float64) {
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
		c.Outlets[0].Parallel, c.Outlets[0].PerSegment, c.Outlets[0].DailyLimit = 50, 0.1, 6
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
		t.Errorf("%d safety messages of 5 and %d others went out for 3.00 of 6.00 at 0.10 each", safety, answers)
	}
	if len(watch.marks) != 2 {
		t.Errorf("warned at %v, want once at 2.40 and once at the limit of the part", watch.marks)
	}
	// The rest waits for the next day, and then goes.
	clock.set(start.Add(17 * time.Hour)) // midnight
	work()
	if n := len(carrier.calls); n < 60 || n > 65 {
		t.Errorf("%d in two days of 30 each and 5 safety messages", n)
	}
}

// purse is a day's money in memory, which two workers share.
type purse struct {
	mu      sync.Mutex
	spent   map[partOfDay]int
	refused map[partOfDay]bool
	err     error
}

type partOfDay struct {
	part string
	day  time.Time
}

func (p *purse) Spend(_ context.Context, _, part string, midnight time.Time, segments, most int, must bool) (spent int, taken, first bool, err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.err != nil {
		return 0, false, false, p.err
	}
	day := partOfDay{part, midnight}
	taken = must || most < 0 || p.spent[day]+segments <= most
	if taken {
		p.spent[day] += segments
	} else {
		first, p.refused[day] = !p.refused[day], true
	}
	return p.spent[day], taken, first, nil
}

// Two gateways send what one queue holds: together they spend no more than the
// day allows, and are warned once. While the day's money cannot be asked for
// nothing is sent.
func TestGatewaysShareTheDaysMoney(t *testing.T) {
	shared := &purse{spent: map[partOfDay]int{}, refused: map[partOfDay]bool{}, err: errors.New("away")}
	shelf, carrier, clock, watch := newShelf(), &scripted{}, &clock{now: start}, &spending{}
	var workers []*dispatch.Worker
	for range 2 {
		workers = append(workers, newWorker(t, shelf, carrier, clock.Now, func(c *dispatch.Config) {
			c.Watcher, c.Purse = watch, shared
			c.Outlets[0].Parallel, c.Outlets[0].PerSegment, c.Outlets[0].DailyLimit = 50, 0.1, 6
		}))
	}
	for i := range 100 {
		o := queued(fmt.Sprintf("m%03d", i))
		o.To = session.Phone(fmt.Sprintf("+3363998%04d", i))
		shelf.put(o)
	}
	work := func() {
		for idle := 0; idle < len(workers); {
			n, err := workers[idle].Round(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			if n == 0 {
				idle++
			}
		}
	}
	work()
	if len(carrier.calls) != 0 {
		t.Fatalf("%d messages were sent although nobody knows what is left of the day", len(carrier.calls))
	}
	shared.err = nil
	clock.set(start.Add(10 * time.Minute)) // the leases are over
	work()
	if len(carrier.calls) != 30 {
		t.Errorf("%d messages were sent, the day allows 30", len(carrier.calls))
	}
	if len(watch.marks) != 2 {
		t.Errorf("told of %v, want one warning and one end", watch.marks)
	}
}

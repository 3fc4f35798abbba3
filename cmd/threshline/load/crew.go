package load

import (
	"context"
	"fmt"
	"net/http"
	"regexp"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"threshline/cmd/threshline/handset"
	"threshline/gateway/carrier"
)

// mostPhones is how many numbers the range that is kept for fiction holds.
const mostPhones = 10_000

// Crew is phones that talk to a gateway at once. A load generator that sends
// independent requests at a rate would not do: a phone's next entry depends on the
// answer to the one before.
type Crew struct {
	base   string
	phones []*loader
	ids    atomic.Uint64
}

// loader is one phone of a crew.
type loader struct {
	*handset.Phone
	screen string
	checks int // slips it was shown
}

// NewCrew makes n phones, each with a number of its own from a range kept for
// fiction.
func NewCrew(base string, channel carrier.Config, n int) *Crew {
	transport := http.DefaultTransport.(*http.Transport).Clone()
	transport.MaxIdleConns, transport.MaxIdleConnsPerHost = 0, n
	client := &http.Client{Transport: transport, Timeout: handset.Timeout}
	c := &Crew{base: base}
	for i := range n {
		set := handset.New(base, channel, fmt.Sprintf("+3363998%04d", i))
		set.Client = client
		set.NewID = func() string { return "load-" + strconv.FormatUint(c.ids.Add(1), 36) }
		c.phones = append(c.phones, &loader{Phone: set})
	}
	return c
}

// example finds what a screen says an entry looks like.
var example = regexp.MustCompile(`Like: ([^\n]+)`)

// next is what a person would key in on the screen: the example it gives, the
// menu after a grade, else the first choice.
func (l *loader) next() string {
	if slipLine.MatchString(l.screen) {
		return "00"
	}
	if m := example.FindStringSubmatch(l.screen); m != nil {
		return m[1]
	}
	return "1"
}

var slipLine = regexp.MustCompile(`Slip [2-9A-Z]{7}`)

// talk is one exchange.
func (l *loader) talk(ctx context.Context) (err error) {
	var a handset.Answer
	if !l.Dialled() {
		a, err = l.Dial(ctx)
	} else {
		a, err = l.Key(ctx, l.next())
	}
	if l.screen = a.Text; slipLine.MatchString(l.screen) {
		l.checks++
	}
	return err
}

// Send has every phone send so many entries, one phone after another, and tells how
// many checks each has filed.
func (c *Crew) Send(ctx context.Context, entries int) (filed map[string]int, err error) {
	filed = map[string]int{}
	for _, l := range c.phones {
		for range entries {
			if err := l.talk(ctx); err != nil {
				return filed, fmt.Errorf("load: %s at %q: %w", l.Number, l.screen, err)
			}
		}
		filed[l.Number] = l.checks
	}
	return filed, nil
}

// entries has every phone send so many entries, all at once.
func (c *Crew) entries(ctx context.Context, each int) ([]time.Duration, error) {
	left := map[*loader]*int{}
	for _, l := range c.phones {
		n := each
		left[l] = &n
	}
	return c.each(func(l *loader) (time.Duration, bool, error) {
		if *left[l]--; *left[l] < 0 {
			return 0, false, nil
		}
		begin := time.Now()
		err := l.talk(ctx)
		return time.Since(begin), true, err
	})
}

// flatOut has every phone send its next entry as soon as it has an answer.
func (c *Crew) flatOut(ctx context.Context, span time.Duration) ([]time.Duration, error) {
	end := time.Now().Add(span)
	return c.each(func(l *loader) (time.Duration, bool, error) {
		begin := time.Now()
		if !begin.Before(end) {
			return 0, false, nil
		}
		err := l.talk(ctx)
		return time.Since(begin), true, err
	})
}

// paced sends at a rate, whatever the gateway does. Times count from when a message was
// due. So a message that had to wait for its phone counts that wait too.
func (c *Crew) paced(ctx context.Context, span time.Duration, rate float64) ([]time.Duration, error) {
	total := int64(span.Seconds() * rate)
	return c.pacedWhile(ctx, func(i int64) bool { return i < total }, rate)
}

// pacedWhile is paced while there is more to send.
func (c *Crew) pacedWhile(ctx context.Context, more func(sent int64) bool, rate float64) ([]time.Duration, error) {
	begin := time.Now()
	var sent atomic.Int64
	return c.each(func(l *loader) (time.Duration, bool, error) {
		i := sent.Add(1) - 1
		if !more(i) {
			return 0, false, nil
		}
		due := begin.Add(time.Duration(float64(i) / rate * float64(time.Second)))
		time.Sleep(time.Until(due))
		err := l.talk(ctx)
		return time.Since(due), true, err
	})
}

// each has every phone do work until there is none, and gathers how long each
// took. The first error ends it for all.
func (c *Crew) each(work func(*loader) (took time.Duration, more bool, err error)) (all []time.Duration, err error) {
	var mu sync.Mutex
	var wait sync.WaitGroup
	var failed atomic.Bool
	for _, l := range c.phones {
		wait.Go(func() {
			var mine []time.Duration
			for !failed.Load() {
				took, more, e := work(l)
				if e != nil && !failed.Swap(true) {
					err = fmt.Errorf("load: %w", e)
				}
				if !more || e != nil {
					break
				}
				mine = append(mine, took)
			}
			mu.Lock()
			defer mu.Unlock()
			all = append(all, mine...)
		})
	}
	wait.Wait()
	return all, err
}

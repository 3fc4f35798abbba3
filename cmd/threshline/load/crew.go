package load

import (
	"context"
	"fmt"
	"net/http"
	"regexp"
	"runtime/metrics"
	"slices"
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
// independent requests at a rate would not do: a phone's next entry depends on
// its having the answer to the one before.
type Crew struct {
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
	c := &Crew{}
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

// Send has every phone send so many entries, one phone after another, and tells
// how many checks each has filed.
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

// measured is what one measurement came to.
type measured struct {
	rate     float64 // exchanges a second, as fast as it went
	p50, p99 time.Duration
	half     [2]time.Duration // p50 and p99 at half that rate
	checks   int
	// written is bytes to the disk and allocs allocations of this process, for
	// each exchange as fast as it went; 0 for a gateway elsewhere.
	written, allocs float64
}

// String is the columns of a measurement.
func (m measured) String() string {
	ms := func(d time.Duration) string { return fmt.Sprintf("%.1fms", float64(d.Microseconds())/1000) }
	return fmt.Sprintf("%11.0f %8s %8s %19s %8s %8d %8.0f %7.0f", m.rate, ms(m.p50), ms(m.p99), ms(m.half[0]), ms(m.half[1]), m.checks, m.written, m.allocs)
}

// measureAt has n phones talk to a gateway: a while to warm up, as fast as it
// goes, and at half that speed. written is how much the gateway's store has
// written so far; nil for a gateway elsewhere.
func measureAt(ctx context.Context, base string, channel carrier.Config, n int, span time.Duration, written func() int64) (m measured, err error) {
	c := NewCrew(base, channel, n)
	defer c.phones[0].Client.CloseIdleConnections()
	if _, err = c.flatOut(ctx, span/4); err != nil {
		return m, err
	}
	disk, made := int64(0), allocations()
	if written != nil {
		disk = written()
	}
	begin := time.Now()
	took, err := c.flatOut(ctx, span)
	if err != nil {
		return m, err
	}
	m.rate = float64(len(took)) / time.Since(begin).Seconds()
	if written != nil {
		m.written = float64(written()-disk) / float64(len(took))
		m.allocs = float64(allocations()-made) / float64(len(took))
	}
	m.p50, m.p99 = quantiles(took)
	if took, err = c.paced(ctx, span, m.rate/2); err != nil {
		return m, err
	}
	m.half[0], m.half[1] = quantiles(took)
	for _, l := range c.phones {
		m.checks += l.checks
	}
	return m, nil
}

// allocations is how many this process has made so far.
func allocations() uint64 {
	made := []metrics.Sample{{Name: "/gc/heap/allocs:objects"}}
	metrics.Read(made)
	return made[0].Value.Uint64()
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

// paced sends at a rate, whatever the gateway does. Times count from when a
// message was due, so that one that had to wait for a phone counts its wait.
func (c *Crew) paced(ctx context.Context, span time.Duration, rate float64) ([]time.Duration, error) {
	begin, total := time.Now(), int64(span.Seconds()*rate)
	var sent atomic.Int64
	return c.each(func(l *loader) (time.Duration, bool, error) {
		i := sent.Add(1) - 1
		if i >= total {
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

// quantiles gives the median and the 99th percentile.
func quantiles(took []time.Duration) (p50, p99 time.Duration) {
	if len(took) == 0 {
		return 0, 0
	}
	slices.Sort(took)
	return took[len(took)/2], took[len(took)*99/100]
}

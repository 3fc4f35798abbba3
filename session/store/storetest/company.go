package storetest

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"threshline/session"
)

// Shared is an Engine through which one of several gateways uses a store.
type Shared interface {
	Engine
	Begin(ctx context.Context, work string, every, within time.Duration) (session.Lease, error)
	End(ctx context.Context, l session.Lease, done bool, result []byte) error
	Result(ctx context.Context, work string) ([]byte, error)
	Spend(ctx context.Context, channel, part string, day time.Time, segments, most int, must bool) (spent int, taken, first bool, err error)
	LastCommit(ctx context.Context) (time.Time, error)
	Now(ctx context.Context) (time.Time, error)
}

// RunShared has two engines over one store, fresh for each case, prove what
// gateways that share a store need.
func RunShared(t *testing.T, open func(t *testing.T) (a, b Shared)) {
	cases := []sharedCase{
		{"who was paused cannot finish what another took over", fenced},
		{"work that is not due, or another's, is not begun", begunOnce},
		{"what work came to is for all", resultForAll},
		{"gateways together spend no more than the day allows, and one says so", spentTogether},
		{"what was sent before anything is counted counts for its day, and for no later one", spentBefore},
		{"a day's money that a clock ahead left is not given out again", spentAhead},
		{"the clock that gateways share goes on", goesOn},
		{"a gateway that starts knows when another swept", sweptLast},
	}
	for _, c := range append(cases, betweenCases...) {
		t.Run(c.name, func(t *testing.T) {
			a, b := open(t)
			c.run(t, a, b)
		})
	}
}

type sharedCase struct {
	name string
	run  func(t *testing.T, a, b Shared)
}

// begin takes a lease on the backup, which is due every so often.
func begin(t *testing.T, e Shared, every, within time.Duration) session.Lease {
	t.Helper()
	return must(e.Begin(ctx, "backup", every, within))(t)
}

func end(t *testing.T, e Shared, l session.Lease, done bool, result string) {
	t.Helper()
	if err := e.End(ctx, l, done, []byte(result)); err != nil {
		t.Fatal(err)
	}
}

func fenced(t *testing.T, a, b Shared) {
	first := begin(t, a, time.Hour, 0) // over at once
	second := begin(t, b, time.Hour, time.Hour)
	if !first.Held() || !second.Held() {
		t.Fatal("work was not begun, or what was left was not taken over")
	}
	for _, done := range []bool{true, false} {
		if err := a.End(ctx, first, done, []byte("late")); !errors.Is(err, session.ErrConflict) {
			t.Errorf("who was paused has ended the work: %v", err)
		}
	}
	if begin(t, a, time.Hour, time.Hour).Held() {
		t.Error("who was paused gave away what another is at")
	}
	end(t, b, second, true, "in time")
	if err := a.End(ctx, first, true, []byte("late")); !errors.Is(err, session.ErrConflict) {
		t.Errorf("who was paused has ended what is done: %v", err)
	}
	if result, err := a.Result(ctx, "backup"); err != nil || string(result) != "in time" {
		t.Errorf("the work came to %q, %v", result, err)
	}
}

func begunOnce(t *testing.T, a, b Shared) {
	first := begin(t, a, time.Hour, time.Hour)
	if !first.Held() || begin(t, b, time.Hour, time.Hour).Held() || begin(t, a, time.Hour, time.Hour).Held() {
		t.Fatal("work that is under way was begun again, or not at all")
	}
	end(t, a, first, false, "")
	second := begin(t, b, time.Hour, time.Hour)
	if !second.Held() || second.Fence == first.Fence {
		t.Fatalf("work that was given back was not begun anew: %+v after %+v", second, first)
	}
	end(t, b, second, true, "")
	if begin(t, a, time.Hour, time.Hour).Held() {
		t.Error("work was begun again before it was due")
	}
	if !begin(t, a, time.Nanosecond, time.Hour).Held() {
		t.Error("work was not begun when it was due again")
	}
	if l, err := b.Begin(ctx, "sweep", time.Hour, time.Hour); err != nil || !l.Held() {
		t.Errorf("other work waits for it: %v", err)
	}
}

func resultForAll(t *testing.T, a, b Shared) {
	if result, err := b.Result(ctx, "backup"); err != nil || result != nil {
		t.Errorf("work that nobody did came to %q, %v", result, err)
	}
	end(t, a, begin(t, a, 0, time.Hour), true, "one")
	end(t, b, begin(t, b, 0, time.Hour), false, "none") // it was not done
	for _, e := range []Shared{a, b} {
		if result, err := e.Result(ctx, "backup"); err != nil || string(result) != "one" {
			t.Errorf("the work came to %q, %v", result, err)
		}
	}
}

func spentTogether(t *testing.T, a, b Shared) {
	const most, each = 30, 25
	var taken, told atomic.Int32
	var all sync.WaitGroup
	for i := range 2 * each {
		e := []Shared{a, b}[i%2]
		all.Go(func() {
			_, ok, first, err := e.Spend(ctx, "valley-sms", "known", Begin, 1, most, false)
			if err != nil {
				t.Error(err)
			}
			if ok {
				taken.Add(1)
			}
			if first {
				told.Add(1)
			}
		})
	}
	all.Wait()
	if taken.Load() != most || told.Load() != 1 {
		t.Errorf("%d of %d taken, told %d times", taken.Load(), most, told.Load())
	}
	spend := func(part string, day time.Time, segments int, warning bool) (int, bool) {
		spent, ok, _, err := a.Spend(ctx, "valley-sms", part, day, segments, most, warning)
		if err != nil {
			t.Fatal(err)
		}
		return spent, ok
	}
	if spent, ok := spend("known", Begin, 2, true); !ok || spent != most+2 {
		t.Errorf("a warning was held back: %d, %v", spent, ok)
	}
	spend("known", Begin, -5, true)
	if spent, ok := spend("known", Begin, 3, false); !ok || spent != most {
		t.Errorf("what was given back cannot be spent: %d, %v", spent, ok)
	}
	if spent, ok := spend("known", Begin.AddDate(0, 0, 1), 1, false); !ok || spent != 1 {
		t.Errorf("the next day begins with %d, %v", spent, ok)
	}
	if spent, ok := spend("dangers", Begin, 1, false); !ok || spent != 1 {
		t.Errorf("another part of the day begins with %d, %v", spent, ok)
	}
}

func spentBefore(t *testing.T, a, b Shared) {
	put(t, a, session.Writes{Outgoing: []session.Outgoing{Outgoing(1), Outgoing(2)}})
	for i, o := range claim(t, a, Begin.Add(time.Hour), 2, time.Hour) {
		o.State, o.Segments, o.CarrierID, o.Changed = session.HandedOn, 2, fmt.Sprint("c-", i+1), Begin.Add(time.Duration(-i)*time.Nanosecond) // the second a day before
		settle(t, a, o)
	}
	spent, _, _, err := b.Spend(ctx, Outgoing(1).Channel, "known", Begin, 1, 10, false)
	if err != nil || spent != 3 {
		t.Errorf("%d are spent, %v, of 2 sent before and 1 now", spent, err)
	}
	if spent, _, _, err := b.Spend(ctx, Outgoing(1).Channel, "strangers", Begin, 1, 10, false); err != nil || spent != 1 {
		t.Errorf("another part begins with %d, %v", spent, err)
	}
	next := Begin.AddDate(0, 0, 1)
	if err := a.Receipt(ctx, Outgoing(1).Channel, "c-1", session.Delivered, next.Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	if spent, _, _, err := b.Spend(ctx, Outgoing(1).Channel, "known", next, 1, 10, false); err != nil || spent != 1 {
		t.Errorf("the next day begins with %d, %v, after a receipt for the day before", spent, err)
	}
}

func spentAhead(t *testing.T, a, b Shared) {
	for _, day := range []time.Time{Begin, Begin.Add(ahead), Begin.Add(ahead + 24*time.Hour)} {
		if spent, _, _, err := a.Spend(ctx, "valley-sms", "known", day, 10, 10, false); err != nil || spent != 10 {
			t.Errorf("%d are spent, %v", spent, err)
		}
	}
	if spent, taken, _, err := b.Spend(ctx, "valley-sms", "known", Begin, 1, 10, false); err != nil || taken || spent != 10 {
		t.Errorf("%d are spent, %v, when the clock is right again", spent, err)
	}
}

func sweptLast(t *testing.T, a, b Shared) {
	if at, err := b.LastCommit(ctx); err != nil || !at.IsZero() {
		t.Errorf("somebody swept at %s, %v", at, err)
	}
	for _, now := range []time.Time{Begin, Begin.Add(-time.Hour)} { // the later one counts
		must(a.Sweep(ctx, now, 10))(t)
		if at, err := b.LastCommit(ctx); err != nil || !at.Equal(Begin) {
			t.Errorf("the last sweep was at %s, %v", at, err)
		}
	}
}

func goesOn(t *testing.T, a, b Shared) {
	var last time.Time
	for _, e := range []Shared{a, b, a} {
		now, err := e.Now(ctx)
		if err != nil || now.Before(last) || now.Sub(last) > time.Hour && !last.IsZero() {
			t.Errorf("%s after %s, %v", now, last, err)
		}
		last = now
	}
}

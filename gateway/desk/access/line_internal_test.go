package access

import (
	"context"
	"errors"
	"net/netip"
	"strings"
	"testing"
	"testing/synctest"
)

// TestWhoeverSendsManyGuessesWaitsBehindTheirOwn puts as many of one address
// in the line as may be, then one of another address and a browser that is known.
func TestWhoeverSendsManyGuessesWaitsBehindTheirOwn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		l := newLine()
		address := func(s string) attempt { return attempt{from: netip.MustParsePrefix(s)} }
		guesser, other, known := address("192.0.2.1/32"), address("198.51.100.7/32"), attempt{browser: "known"}
		first, err := l.enter(t.Context(), address("203.0.113.9/32"))
		if err != nil {
			t.Fatal(err)
		}
		var served []string
		stand := func(name string, who attempt) {
			go func() {
				leave, err := l.enter(t.Context(), who)
				if err != nil {
					t.Error(err)
					return
				}
				served = append(served, name) // one at a time, or the race detector tells
				leave()
			}()
			synctest.Wait() // until it stands in the line
		}
		for range mostInLine {
			stand("guess", guesser)
		}
		if _, err := l.enter(t.Context(), guesser); !errors.Is(err, errLine) {
			t.Errorf("one more of the guesser: %v, want %v", err, errLine)
		}
		stand("other", other)
		stand("known", known)
		if len(served) > 0 {
			t.Fatalf("served while somebody is: %v", served)
		}
		first()
		synctest.Wait()
		rest := " other" + strings.Repeat(" guess", mostInLine-1)
		if got := strings.Join(served, " "); got != "guess known"+rest && got != "known guess"+rest {
			t.Errorf("served in the order %q", got)
		}
		if len(l.own) != 0 {
			t.Errorf("%d lines are left", len(l.own))
		}
	})
}

// TestWhoeverGoesAwayLeavesTheLine: a visitor who gave up holds nobody up.
func TestWhoeverGoesAwayLeavesTheLine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		l := newLine()
		one, two := attempt{browser: "one"}, attempt{browser: "two"}
		first, err := l.enter(t.Context(), one)
		if err != nil {
			t.Fatal(err)
		}
		ctx, giveUp := context.WithCancel(t.Context())
		gone := make(chan error, 1)
		go func() {
			_, err := l.enter(ctx, two)
			gone <- err
		}()
		synctest.Wait()
		giveUp()
		if err := <-gone; !errors.Is(err, context.Canceled) {
			t.Errorf("who gave up: %v", err)
		}
		first()
		if leave, err := l.enter(t.Context(), two); err != nil {
			t.Error(err)
		} else {
			leave()
		}
		if len(l.own) != 0 {
			t.Errorf("%d lines are left", len(l.own))
		}
	})
}

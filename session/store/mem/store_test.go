package mem_test

import (
	"sync/atomic"
	"testing"
	"time"

	"threshline/session/store/mem"
	"threshline/session/store/storetest"
)

func TestStore(t *testing.T) {
	storetest.Run(t, func(*testing.T) storetest.Engine {
		return mem.New(mem.Options{KeepSent: storetest.KeepSent})
	})
}

func TestStoreOfTwoGateways(t *testing.T) {
	storetest.RunShared(t, func(*testing.T) (a, b storetest.Shared) {
		var ticks atomic.Int64
		clock := func() time.Time { return storetest.Begin.Add(time.Hour + time.Duration(ticks.Add(1))*time.Millisecond) }
		s := mem.New(mem.Options{KeepSent: storetest.KeepSent, Clock: clock})
		return s, s
	})
}

// The clock was years ahead while work for all was done, and while some was begun and
// left. When it is right the work is done again in its time.
func TestWorkForAllWaitsForNoClockThatWasAhead(t *testing.T) {
	now := storetest.Begin.AddDate(4, 0, 0)
	s := mem.New(mem.Options{Clock: func() time.Time { return now }})
	for _, work := range []string{"done", "left"} {
		l, err := s.Begin(t.Context(), work, time.Hour, time.Hour)
		if err == nil && work == "done" {
			err = s.End(t.Context(), l, true, nil)
		}
		if err != nil || !l.Held() {
			t.Fatal(l, err)
		}
	}
	now = storetest.Begin
	for _, work := range []string{"done", "left"} {
		if l, err := s.Begin(t.Context(), work, time.Hour, time.Hour); err != nil || !l.Held() {
			t.Errorf("%s is not begun again: %v", work, err)
		}
		if l, err := s.Begin(t.Context(), work, time.Hour, time.Hour); err != nil || l.Held() {
			t.Errorf("%s is begun by two: %v", work, err)
		}
	}
}

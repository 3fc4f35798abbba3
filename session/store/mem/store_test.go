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

package main

import (
	"context"
	"os"
	"runtime/debug"
	"runtime/metrics"
	"time"

	"github.com/KimMachineGun/automemlimit/memlimit"
	"github.com/rs/zerolog"
)

const (
	// leastGarbage is how much garbage, in bytes, may gather at least before it is
	// collected; in a larger programme it is half of the memory in use. Each collection
	// looks at all that is in use and at every stack, so it must not run all the time.
	leastGarbage = 128 << 20
	// ofTheMachine is the part of the machine's memory, or of the control
	// group's, that the program keeps within as long as it can. The rest is for
	// the store's file, which the kernel keeps for it.
	ofTheMachine = 0.8
	memoryEvery  = 2 * time.Second
)

// memory keeps the garbage collector from running too often and the program
// from growing too large.
type memory struct {
	percent int // of what is in use may be garbage; 0 leaves it to whoever set GOGC
}

// newMemory sets the bound of the machine, unless whoever runs the program set
// one themselves (GOMEMLIMIT). If it cannot be found out, there is no bound.
func newMemory(log zerolog.Logger) *memory {
	there := memlimit.ApplyFallback(memlimit.FromCgroup, memlimit.FromSystem)
	if _, err := memlimit.Set(memlimit.WithRatio(ofTheMachine), memlimit.WithProvider(there)); err != nil {
		log.Warn().Err(err).Msg("cannot find out how much memory there is")
	}
	if os.Getenv("GOGC") != "" {
		return &memory{}
	}
	return &memory{percent: 100}
}

// round is one of the station's loops.
func (m *memory) round(context.Context) (bool, error) {
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}} // of the last collection
	metrics.Read(live)
	if m.percent == 0 || live[0].Value.Kind() != metrics.KindUint64 {
		return false, nil
	}
	if want := garbagePercent(live[0].Value.Uint64()); want != m.percent { // to set it stops the program for a moment
		debug.SetGCPercent(want)
		m.percent = want
	}
	return false, nil
}

// garbagePercent is how much garbage may gather, as a part of what is in use.
func garbagePercent(live uint64) int {
	if live == 0 { // nothing was collected yet
		return 100
	}
	return int(max(live/2, leastGarbage) * 100 / live)
}

package main

import (
	"context"
	"os"
	"runtime/debug"
	"runtime/metrics"
	"time"
)

// ballast is how many bytes are set aside and never written, so that they take
// no memory themselves. The garbage collector runs whenever what is in use has
// doubled: with little in use that is every two hundred exchanges, and a tenth
// of the machine. With them it lets 32 MiB of garbage gather at least, which
// makes the program some 50 MiB larger. GOGC says what it always says.
const ballast = 32 << 20

const (
	// usualMemory is what the program may come to, the ballast counted but not
	// the files it maps, before the collector runs for more than what is in use
	// having doubled: with a million checks that would be twice their 270 MiB.
	usualMemory = ballast + 336<<20
	// leastGarbage may gather beyond what is in use however much that is, so that
	// a larger programme is not one long collection.
	leastGarbage = 48 << 20
	memoryEvery  = 2 * time.Second
)

// memoryLimit keeps the collector's soft limit a little above what is in use.
type memoryLimit struct{ set int64 }

// newMemoryLimit begins with the usual limit; nil, which does nothing, where
// whoever runs the program set one themselves (GOMEMLIMIT).
func newMemoryLimit() *memoryLimit {
	if os.Getenv("GOMEMLIMIT") != "" {
		return nil
	}
	debug.SetMemoryLimit(usualMemory)
	return &memoryLimit{usualMemory}
}

// round is one of the station's loops.
func (m *memoryLimit) round(context.Context) (bool, error) {
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}} // of the last collection
	metrics.Read(live)
	if live[0].Value.Kind() != metrics.KindUint64 {
		return false, nil
	}
	want := softLimit(int64(live[0].Value.Uint64()))
	if off := want - m.set; off > leastGarbage/8 || off < -leastGarbage/8 { // to set it stops the program for a moment
		debug.SetMemoryLimit(want)
		m.set = want
	}
	return false, nil
}

// softLimit is the limit when so many bytes are in use.
func softLimit(live int64) int64 { return max(usualMemory, live+leastGarbage) }

package main

import (
	"bytes"
	"context"
	"os"
	"runtime/debug"
	"runtime/metrics"
	"strconv"
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
	// having doubled: with a million checks that would be twice their 300 MiB.
	usualMemory = ballast + 312<<20
	// leastGarbage may gather beyond what is in use however much that is, so that
	// a larger programme is not one long collection.
	leastGarbage = 24 << 20
	// mostMapped is how much of files may be mapped, the program's own among them.
	mostMapped  = 64 << 20
	memoryEvery = 2 * time.Second
	mappedEvery = 250 * time.Millisecond // an export maps 100 MiB a second
)

// memory keeps the program's memory a little above what is in use.
type memory struct {
	limit int64                       // of the collector; 0 leaves it to whoever set one
	letGo func(context.Context) error // of the store's file
}

// newMemory begins with the usual limit, unless whoever runs the program set
// one themselves (GOMEMLIMIT).
func newMemory(letGo func(context.Context) error) *memory {
	m := &memory{letGo: letGo}
	if os.Getenv("GOMEMLIMIT") == "" {
		m.limit = usualMemory
		debug.SetMemoryLimit(usualMemory)
	}
	return m
}

// round is one of the station's loops.
func (m *memory) round(context.Context) (bool, error) {
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}} // of the last collection
	metrics.Read(live)
	if m.limit != 0 && live[0].Value.Kind() == metrics.KindUint64 {
		want := softLimit(int64(live[0].Value.Uint64()))
		if off := want - m.limit; off > leastGarbage/8 || off < -leastGarbage/8 { // to set it stops the program for a moment
			debug.SetMemoryLimit(want)
			m.limit = want
		}
	}
	return false, nil
}

// unmap is one of the station's loops: it lets go of the store's file when much
// of it is mapped.
func (m *memory) unmap(ctx context.Context) (bool, error) {
	if text, err := os.ReadFile("/proc/self/statm"); err == nil && mappedPages(text)*int64(os.Getpagesize()) > mostMapped {
		return false, m.letGo(ctx)
	}
	return false, nil // another system than Linux tells it otherwise, or not
}

// softLimit is the limit when so many bytes are in use.
func softLimit(live int64) int64 { return max(usualMemory, live+leastGarbage) }

// mappedPages reads how many pages of files are resident: the third figure of
// the kernel's statm.
func mappedPages(statm []byte) int64 {
	fields := bytes.Fields(statm)
	if len(fields) < 3 {
		return 0
	}
	n, err := strconv.ParseInt(string(fields[2]), 10, 64)
	if err != nil {
		return 0
	}
	return n
}

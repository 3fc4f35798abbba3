package main

import (
	"os"
	"runtime/debug"
	"testing"

	"github.com/rs/zerolog"
)

func TestGarbageMayBeAtLeastHalfOfWhatIsInUse(t *testing.T) {
	for _, c := range []struct {
		name string
		live uint64
		want int
	}{
		{"nothing was collected yet", 0, 100},
		{"a small programme does not collect all the time", 32 << 20, 400},
		{"a larger one neither", 200 << 20, 64},
		{"a large one is not one long collection", 900 << 20, 50},
	} {
		if got := garbagePercent(c.live); got != c.want {
			t.Errorf("%s: %d %%, want %d", c.name, got, c.want)
		}
	}
}

// Whoever runs the program has the last word on its memory; else what the
// machine has bounds it.
func TestTheBoundOfMemoryIsTheMachinesUnlessOneIsSet(t *testing.T) {
	before := debug.SetMemoryLimit(-1)
	t.Cleanup(func() { debug.SetMemoryLimit(before) })
	t.Setenv("GOMEMLIMIT", "500MiB") // read by the runtime at its start only
	newMemory(zerolog.Nop())
	if got := debug.SetMemoryLimit(-1); got != before {
		t.Errorf("with GOMEMLIMIT set, the limit became %d from %d", got, before)
	}
	if err := os.Unsetenv("GOMEMLIMIT"); err != nil {
		t.Fatal(err)
	}
	t.Setenv("GOGC", "80")
	m := newMemory(zerolog.Nop())
	if got := debug.SetMemoryLimit(-1); got <= 0 || got >= 1<<50 {
		t.Errorf("the limit is %d: not of this machine", got)
	}
	if m.percent != 0 {
		t.Error("GOGC is not left alone")
	}
}

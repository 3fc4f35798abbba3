package main

import (
	"bytes"
	"runtime"
	"sync"
)

var stacks = sync.Pool{New: func() any { return new([1 << 18]byte) }}

// goroutinesReturn holds that no more run than after the first step.
func (s *simulation) goroutinesReturn() {
	if len(s.running()) < len(s.gateways) {
		return // what stands still returns later
	}
	room := stacks.Get().(*[1 << 18]byte)
	defer stacks.Put(room)
	all := bytes.Split(room[:runtime.Stack(room[:], true)], []byte("\n\n"))
	head, _, _ := bytes.Cut(all[0], []byte("]:")) // "goroutine 7 [running, synctest bubble 3"
	_, bubble, ok := bytes.Cut(head, []byte(", synctest bubble "))
	if !ok {
		s.wrong(ruleReturns, "no bubble is named in %s", head)
		return
	}
	n := 0
	for _, stack := range all {
		head, _, _ := bytes.Cut(stack, []byte("]:"))
		if _, of, _ := bytes.Cut(head, []byte(", synctest bubble ")); bytes.Equal(of, bubble) {
			n++
		}
	}
	if s.goroutines == 0 {
		s.goroutines = n
	}
	if n > s.goroutines {
		s.wrong(ruleReturns, "%d goroutines, after the first step %d", n, s.goroutines)
	}
}

// holdsMore is how much more memory than one that just started a station may hold
// that has run for weeks.
const holdsMore = 1 << 20

// anotherStation is more than one takes: what began a run stays beside the one that knows
// what was learnt last, however often that was.
const anotherStation = 3 << 20

// memoryReturns holds that after all that happened the station holds as much memory as
// one that starts on the same store.
func (s *simulation) memoryReturns() {
	worn := inUse()
	s.stop(0)
	more := uint64(holdsMore)
	if s.hasSeason() {
		more += anotherStation
	}
	if fresh := inUse(); worn > fresh+more {
		s.wrong(ruleReturns, "the station holds %d KB more than a fresh one", (worn-fresh)>>10)
	}
}

// inUse is how many bytes are in use.
func inUse() uint64 {
	runtime.GC()
	runtime.GC() // what the first one finalized
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

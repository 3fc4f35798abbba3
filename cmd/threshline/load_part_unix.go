//go:build unix

package main

import (
	"time"

	"golang.org/x/sys/unix"
)

// processorTime is what this process has used of processors, in seconds.
func processorTime() float64 {
	var used unix.Rusage
	if unix.Getrusage(unix.RUSAGE_SELF, &used) != nil {
		return 0
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano()).Seconds()
}

package main

import (
	"time"

	"golang.org/x/sys/unix"
)

// passed is how long the machine has been running, sleep included. Nobody can
// set it.
func passed() time.Duration {
	var t unix.Timespec
	if err := unix.ClockGettime(unix.CLOCK_BOOTTIME, &t); err != nil {
		return time.Since(started)
	}
	return time.Duration(t.Nano())
}

var started = time.Now()

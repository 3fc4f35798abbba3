//go:build unix

package main

import (
	"syscall"
	"testing"
)

// connectionsAllowed is how many connections this process and the program can
// both hold: 10,000, or what the system allows.
func connectionsAllowed(t *testing.T) int {
	t.Helper()
	var limit syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_NOFILE, &limit); err != nil {
		t.Fatal(err)
	}
	const spare = 500
	if limit.Cur < 2*spare {
		t.Fatalf("the limit of open files is %d: too low to try anything", limit.Cur)
	}
	return int(min(10_000, limit.Cur-spare))
}

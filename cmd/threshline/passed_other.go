//go:build !linux

package main

import "time"

// passed is how long the program runs.
func passed() time.Duration { return time.Since(started) }

var started = time.Now()

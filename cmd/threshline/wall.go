//go:build !jumpingclock

package main

import "time"

// wall is the system's clock. A build for tests has one that can be set.
func wall() time.Time { return time.Now() }

package dispatch

import "time"

// Retry says how often and when a failed message is tried again. These are our
// own choices: the second try comes soon, since most faults pass within
// seconds, and the last after about five hours.
type Retry struct {
	First    time.Duration // wait after the first failure; 0 is 5 s
	Factor   float64       // each wait is so many times the one before; 0 is 3
	Longest  time.Duration // no wait is longer; 0 is 2 h
	Attempts int           // given up after so many; 0 is 10
}

func (r Retry) withDefaults() Retry {
	if r.First <= 0 {
		r.First = 5 * time.Second
	}
	if r.Factor < 1 {
		r.Factor = 3
	}
	if r.Longest <= 0 {
		r.Longest = 2 * time.Hour
	}
	if r.Attempts <= 0 {
		r.Attempts = 10
	}
	return r
}

// wait is how long to wait after the given number of failed attempts, at
// least 1. The upper half of the wait is spread by spread, 0 to 1, so that
// messages that failed together do not come back together. What the carrier
// asked for is never undercut.
func (r Retry) wait(attempts int, spread float64, asked time.Duration) time.Duration {
	wait := float64(r.First)
	for range attempts - 1 {
		wait *= r.Factor
		if wait >= float64(r.Longest) {
			break
		}
	}
	wait = min(wait, float64(r.Longest))
	wait = wait/2 + wait/2*spread
	if asked > 0 {
		// Spread by up to a tenth above, for the same reason.
		wait = max(wait, float64(asked)*(1+spread/10))
	}
	return time.Duration(wait)
}

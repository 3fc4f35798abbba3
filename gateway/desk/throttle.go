package desk

import (
	"net/netip"
	"sync"
	"time"
)

// throttle slows down who guesses passwords. It counts by address and account
// together, and by address alone; never by account alone, because then anybody
// could lock somebody else out by failing in their name.
type throttle struct {
	mu     sync.Mutex
	failed map[attempt]failures
}

// attempt is who tries what; an empty account is all of them.
type attempt struct {
	from    netip.Prefix
	account string
}

type failures struct {
	count int
	last  time.Time
}

// How many failures are free, how long the first wait is, and its longest.
// Source: assumed, [ASSUMED-DESK].
const (
	freePerAccount = 5
	freePerAddress = 30
	firstWait      = 30 * time.Second
	longestWait    = time.Hour
	forgetAfter    = 24 * time.Hour
	mostAttempts   = 20_000 // entries kept
)

func newThrottle() *throttle { return &throttle{failed: make(map[attempt]failures)} }

// network is what one guesser is likely to hold: an IPv4 address, or an IPv6
// /64, which a single connection is given whole.
func network(a netip.Addr) netip.Prefix {
	bits := a.BitLen()
	if a.Is6() {
		bits = 64
	}
	p, err := a.Prefix(bits)
	if err != nil {
		return netip.Prefix{}
	}
	return p
}

// wait is how long an attempt has to wait; 0 when it may be made now. Without
// an account it is what the address alone has to wait.
func (t *throttle) wait(from netip.Addr, account string, now time.Time) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	n := network(from)
	wait := t.failed[attempt{n, ""}].wait(freePerAddress, now)
	if account != "" {
		wait = max(wait, t.failed[attempt{n, account}].wait(freePerAccount, now))
	}
	return wait
}

func (f failures) wait(free int, now time.Time) time.Duration {
	if f.count < free {
		return 0
	}
	wait := min(firstWait<<min(f.count-free, 10), longestWait)
	return max(0, wait-now.Sub(f.last))
}

// fail counts a wrong password.
func (t *throttle) fail(from netip.Addr, account string, now time.Time) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if len(t.failed) >= mostAttempts {
		t.drop(now)
	}
	n := network(from)
	keys := []attempt{{n, ""}}
	if account != "" {
		keys = append(keys, attempt{n, account})
	}
	for _, key := range keys {
		f := t.failed[key]
		if now.Sub(f.last) > forgetAfter {
			f.count = 0
		}
		t.failed[key] = failures{f.count + 1, now}
	}
}

// succeed forgets the failures of an address with its own account.
func (t *throttle) succeed(from netip.Addr, account string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.failed, attempt{network(from), account})
}

// drop makes room: first what is old, then what nobody waits for.
func (t *throttle) drop(now time.Time) {
	for key, f := range t.failed {
		if now.Sub(f.last) > forgetAfter {
			delete(t.failed, key)
		}
	}
	for key, f := range t.failed {
		if len(t.failed) < mostAttempts/2 {
			return
		}
		if key.account != "" || f.count < freePerAddress {
			delete(t.failed, key)
		}
	}
}

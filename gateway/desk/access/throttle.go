package access

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"net/netip"
	"strings"
	"sync"
	"time"

	"threshline/session"
)

// throttle slows down who guesses passwords. It counts by address and account
// together, and by address alone; never by account alone, because then anybody
// could lock somebody else out by failing in their name. A browser that is known
// counts for itself, because an address may be shared by many.
type throttle struct {
	mu     sync.Mutex
	failed map[attempt]failures
}

// attempt is who tries to sign in, and to which account; an empty account means
// all. A known browser counts without its address.
type attempt struct {
	from    netip.Prefix
	account string
	browser string
}

type failures struct {
	count        int
	last, before time.Time // of the last one and of the one before
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

// wait returns how long the next try has to wait; 0 when it may come now.
func (t *throttle) wait(now time.Time, tries ...attempt) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.longest(now, tries)
}

// begin counts an attempt as wrong before it is looked at, so that many at once
// are no more than one after the other; undo or succeed take that back. When one
// has to wait, nothing is counted.
func (t *throttle) begin(now time.Time, tries ...attempt) (wait time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if wait = t.longest(now, tries); wait == 0 {
		t.count(now, tries)
	}
	return wait
}

func (t *throttle) longest(now time.Time, tries []attempt) (wait time.Duration) {
	for _, a := range tries {
		free := freePerAccount
		if a.account == "" {
			free = freePerAddress
		}
		wait = max(wait, t.failed[a].wait(free, now))
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

// fail counts a wrong attempt.
func (t *throttle) fail(now time.Time, tries ...attempt) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.count(now, tries)
}

func (t *throttle) count(now time.Time, tries []attempt) {
	if len(t.failed) >= mostAttempts {
		t.drop(now)
	}
	for _, a := range tries {
		f := t.failed[a]
		if now.Sub(f.last) > forgetAfter {
			f.count = 0
		}
		t.failed[a] = failures{f.count + 1, now, f.last}
	}
}

// undo takes back what begin counted: the attempt was not looked at.
func (t *throttle) undo(tries ...attempt) {
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, a := range tries {
		if f := t.failed[a]; f.count > 1 {
			t.failed[a] = failures{f.count - 1, f.before, f.before}
		} else {
			delete(t.failed, a)
		}
	}
}

// succeed takes back what begin counted, and forgets the failures with one's own
// account.
func (t *throttle) succeed(tries ...attempt) {
	t.undo(tries...)
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, a := range tries {
		if a.account != "" {
			delete(t.failed, a)
		}
	}
}

// drop makes room: it removes first old entries, then those for which nobody
// waits.
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

// knownCookie marks a browser in which somebody has signed in before. It lets
// nobody in: it only keeps the wrong passwords of others at the same address,
// such as all customers of a mobile network, from shutting its owner out.
const knownCookie = "threshline_known"

// knownFor is how long a browser stays known. Source: assumed, [ASSUMED-DESK].
const knownFor = 180 * 24 * time.Hour

// mark signs a mark of a browser with what only the store knows, so that nobody
// makes one up, and none outlives the password.
func mark(account *session.Account, random string) string {
	mac := hmac.New(sha256.New, []byte(account.Secret))
	mac.Write([]byte("known browser\n" + string(account.ID) + "\n" + random))
	return random + "." + hex.EncodeToString(mac.Sum(nil))
}

// remember sends a browser its mark.
func (g *Guard) remember(w http.ResponseWriter, r *http.Request, account *session.Account) error {
	random, err := g.newSecret()
	if err != nil {
		return err
	}
	http.SetCookie(w, &http.Cookie{
		Name: knownCookie, Value: mark(account, random), Path: signInPath, HttpOnly: true, SameSite: http.SameSiteLaxMode,
		Secure: g.ByTLS(r), MaxAge: int(knownFor / time.Second),
	})
	return nil
}

// tries is what an attempt to sign in counts for: for its own browser where that
// is known for the name, else for the address with the name and for the address.
func (g *Guard) tries(r *http.Request, name string) ([]attempt, error) {
	from := network(g.cfg.Address(r))
	list := []attempt{{from: from}}
	if name == "" {
		return list, nil
	}
	list = append(list, attempt{from: from, account: name})
	cookie, err := r.Cookie(knownCookie)
	if err != nil || len(cookie.Value) > 4*secretSize {
		return list, nil
	}
	account, err := g.usable(r.Context(), personID(name))
	if account == nil {
		return list, err
	}
	random, _, _ := strings.Cut(cookie.Value, ".")
	if !hmac.Equal([]byte(cookie.Value), []byte(mark(account, random))) {
		return list, nil
	}
	return []attempt{{account: name, browser: digest(random)}}, nil
}

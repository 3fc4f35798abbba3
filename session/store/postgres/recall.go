package postgres

import (
	"context"
	"errors"
	"sync"
	"time"

	"threshline/session"
)

// mostRecent bounds each of the two generations of phones that recent holds, and
// recentFor says after how long a generation is the older one: names are let go
// within twice that.
const (
	mostRecent = 2048
	recentFor  = 2 * time.Minute
)

// recent is how phones stand that this gateway served lately. Another gateway may
// have changed it since: an exchange that goes by it has the versions checked. A
// phone without a dialogue is not among them, since nothing would have a version.
type recent struct {
	mu         sync.Mutex
	young, old map[session.Phone]standing
	begun      time.Time // when young was
	cleared    int       // how often all was let go
}

// take returns what is known of a phone, which is then no longer held, and the
// count that put wants to see again.
func (r *recent) take(phone session.Phone) (d standing, ok bool, cleared int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if d, ok = r.young[phone]; !ok {
		d, ok = r.old[phone]
	}
	delete(r.young, phone)
	delete(r.old, phone)
	return d, ok, r.cleared
}

// put holds how a phone stands, unless all was let go since its exchange began.
func (r *recent) put(phone session.Phone, d standing, cleared int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if cleared != r.cleared {
		return
	}
	if len(r.young) >= mostRecent {
		r.old, r.young = r.young, nil
	}
	if r.young == nil {
		r.young = map[session.Phone]standing{}
	}
	r.young[phone] = d
}

// age lets go what is held too long.
func (r *recent) age(now time.Time) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if now.Sub(r.begun) >= recentFor {
		r.old, r.young, r.begun = r.young, nil, now
	}
}

// count is how often all was let go.
func (r *recent) count() int {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.cleared
}

// clear lets go all.
func (r *recent) clear() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.old, r.young = nil, nil
	r.cleared++
}

// errNotRecalled is what a turn is told that asks for more than is known.
var errNotRecalled = errors.New("postgres: it is not known without a look")

// attempt runs an exchange on what is known, in one round trip. It decides nothing
// where what is known was not enough or not right: then nothing was written, or the answer to the commit was
// lost, and the exchange takes its usual way. What may be asked is no reason to read
// first: few entries on a screen ask all that the screen may need, and a turn that
// asks in vain costs less than a round trip.
func (s *Store) attempt(ctx context.Context, l *lookup, key session.Key, turn session.Turn, cleared int) (x *exchange, decided bool, err error) {
	if l.meet() != nil {
		return nil, false, nil
	}
	w, err := turn(view{ctx: ctx, read: l})
	if err != nil || l.missed || len(w.Forget) > 0 {
		return nil, false, nil
	}
	x, err = prepare(key, l.key, l.dialogueVersion, &w)
	if err != nil || x.empty() {
		return nil, false, nil
	}
	x.person, x.cleared = new(string), cleared
	if l.me != nil {
		*x.person, x.personVersion = string(l.me.ID), l.personVersion
	}
	answered, err := s.submit(ctx, x)
	switch {
	case err == nil:
		return x, answered == nil, nil
	case errors.Is(err, session.ErrConflict), errors.Is(err, session.ErrNotFound), errors.Is(err, errAgain), errors.Is(err, errUnknown) && key.Duplicate != "":
		return nil, false, nil
	}
	return nil, true, err
}

// after is how the phone stands when an exchange was written.
func (l *lookup) after(x *exchange) standing {
	d := l.standing
	if x.own == storeDialogue {
		d.dialogueVersion, d.dialogue = x.stored, x.value
	}
	for _, c := range x.changes {
		if c.kind == "p" && l.me != nil && c.id == string(l.me.ID) {
			d.personVersion, d.person = 0, nil
		}
	}
	for _, c := range x.changes {
		if c.kind == "p" && c.a == string(l.phone) {
			d.personVersion, d.person = c.version+1, c.value
		}
	}
	return d
}

// remember holds how the phone of an exchange that was written stands now.
func (s *Store) remember(l *lookup, x *exchange, cleared int) {
	if d := l.after(x); x.own != removeDialogue && d.dialogueVersion != 0 && len(x.writes.Forget) == 0 {
		s.recent.put(x.key.Phone, d, cleared)
	}
}

package dispatch

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"threshline/session"
)

const (
	// mostJump is how far the clock may run ahead of the time that passed and
	// still be believed: more than a time server would ever correct on a well-kept
	// machine. Source: assumed.
	mostJump = 10 * time.Minute
	// mostAway is how long after the last commit a start believes the clock, and
	// how far back it may be set. Source: assumed.
	mostAway = 3 * 24 * time.Hour
)

// Clock is the system's clock, compared with a second clock that only counts
// the time that passes. If the clock jumped ahead, people would be forgotten,
// records dropped and budgets renewed in a moment. So a jump that the second
// clock does not confirm is not believed until an operator confirms it, or the
// clock is right again. A clock that is set far back is not believed either:
// people who write then would be forgotten as soon as it is right.
type Clock struct {
	wall   func() time.Time
	passed func() time.Duration // since any moment; goes on while the machine sleeps

	mu sync.Mutex
	// base was the time when passed returned at; the clock is believed until it is
	// more than most ahead.
	base time.Time
	at   time.Duration
	most time.Duration
	back time.Duration // how far behind it is believed
	// last is when the store was written to last before this run, if the clock was
	// further ahead of it at the start than is believed; zero otherwise.
	last  time.Time
	began time.Duration
	ahead time.Duration // how far the clock is, while it is not believed; less than 0 behind
	// own was the time at the start by a clock that was far from the shared one; zero
	// when it was not, or has turned out right.
	own time.Time
}

// NewClock begins to watch a clock. last is when the store was written to
// last, zero when that is not known.
func NewClock(wall func() time.Time, passed func() time.Duration, last time.Time) *Clock {
	c := &Clock{wall: wall, passed: passed, most: mostJump, back: mostAway}
	now := wall()
	c.base, c.at = now, passed()
	c.began = c.at
	switch {
	case last.IsZero():
	case now.Sub(last) > mostAway:
		c.last = last
	case last.Sub(now) > mostJump: // as on a machine whose clock stands until it is set
		c.base, c.most = last, mostAway
	}
	return c
}

// NewSharedClock begins to watch a clock beside those of other gateways: shared is
// the time by the clock that all have, their database's, and last as in NewClock.
// They would take each other's sessions for over, and what the other has just heard
// for old, if their clocks were hours apart: so it is believed only while it is
// about right by the shared one, unless that is itself in doubt.
func NewSharedClock(wall func() time.Time, passed func() time.Duration, last, shared time.Time) *Clock {
	if away := shared.Sub(last).Abs(); away > mostAway && !last.IsZero() {
		return NewClock(wall, passed, last)
	}
	c := NewClock(wall, passed, time.Time{})
	if c.base.Sub(shared).Abs() > mostJump {
		c.own = c.base
	}
	c.base, c.back = shared, mostJump
	return c
}

// Shared tells the time by the shared clock. When it comes to agree with ours, from
// which it was far at the start, and ours was not set since, it was the shared one
// that was wrong: ours is believed from then on.
func (c *Clock) Shared(shared time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	now, passed := c.wall(), c.passed()
	if c.own.IsZero() || now.Sub(c.own.Add(passed-c.began)).Abs() > mostJump || shared.Sub(now).Abs() > mostJump {
		return
	}
	c.base, c.at, c.most, c.own = now, passed, mostJump, time.Time{}
}

// Now returns the time to use for events: the clock's or, after a jump, the
// time it would show without the jump.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now()
}

func (c *Clock) now() time.Time {
	now, passed := c.wall(), c.passed()
	due := c.base.Add(passed - c.at)
	if c.ahead = now.Sub(due); c.ahead > c.most {
		return due
	}
	least := due
	if !c.last.IsZero() { // a start in doubt may be set right
		least = c.last.Add(passed - c.began)
	}
	if c.ahead = now.Sub(least); c.ahead < -c.back {
		return least
	}
	if !now.Before(due) {
		c.base, c.at, c.most = now, passed, mostJump
	}
	c.ahead = 0
	return now
}

// Sure returns the time to use for what cannot be undone: Now, or, if the clock
// was too far ahead of the last commit at the start, the time of that commit
// and what passed since.
func (c *Clock) Sure() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	now := c.now()
	if c.last.IsZero() {
		return now
	}
	sure := c.last.Add(c.passed() - c.began)
	if now.Sub(sure) <= mostAway { // set right meanwhile
		c.last = time.Time{}
		c.base, c.at, c.most = now, c.passed(), mostJump
		return now
	}
	return sure
}

// Doubt returns a sentence that says why the clock is not believed; "" when it
// is believed.
func (c *Clock) Doubt() string {
	sure := c.Sure()
	c.mu.Lock()
	defer c.mu.Unlock()
	switch {
	case c.ahead > 0:
		return fmt.Sprintf("the clock jumped ahead by %s: it is taken to be %s until it is right, or confirmed", c.ahead.Round(time.Second), sure.UTC().Format(time.RFC3339))
	case c.ahead < 0:
		return fmt.Sprintf("the clock is behind by %s: it is taken to be %s until it is right, or confirmed", (-c.ahead).Round(time.Second), sure.UTC().Format(time.RFC3339))
	case !c.last.IsZero():
		return fmt.Sprintf("the clock is %.0f days ahead of the last commit: nothing is let go or dropped until it is confirmed", c.wall().Sub(sure).Hours()/24)
	}
	return ""
}

// Confirm believes the clock as it is now, and returns what was believed before.
func (c *Clock) Confirm() (before, now time.Time) {
	before = c.Sure()
	c.mu.Lock()
	defer c.mu.Unlock()
	c.base, c.at, c.most, c.last, c.ahead = c.wall(), c.passed(), mostJump, time.Time{}, 0
	return before, c.base
}

// setBack notices that a clock was set back. What was written under the clock that was
// ahead would wait until then.
type setBack struct{ last []time.Time } // by each of the clocks that are looked at

// look puts right what has to be at the first look, since nobody knows which clock was
// there before, and whenever one of the clocks is earlier than at the last one.
func (s *setBack) look(putRight func() error, now ...time.Time) error {
	back := s.last == nil
	for i, last := range s.last {
		back = back || now[i].Before(last.Add(-time.Minute))
	}
	if back {
		if err := putRight(); err != nil {
			return err
		}
		s.last = slices.Clone(now)
	}
	for i, at := range now {
		if at.After(s.last[i]) {
			s.last[i] = at
		}
	}
	return nil
}

// everDue is longer than the times of a clock that is wrong may be off; mostSet is more
// reminders than a programme has.
const (
	everDue = 100 * 365 * 24 * time.Hour
	mostSet = 1 << 20
)

// putRight looks through all reminders for those of a clock that was ahead. One that
// cannot be put right keeps no other from it.
func (r *Reminders) putRight(ctx context.Context, now time.Time) (problems error) {
	all, err := r.Agenda.Due(ctx, now.Add(everDue), mostSet)
	if err != nil {
		return err
	}
	for _, set := range all {
		right := set
		if !right.SetBack(now) {
			continue
		}
		set.Cancel = true // unless it is gone meanwhile
		_, err := r.Agenda.Exchange(ctx, session.Key{}, func(session.View) (session.Writes, error) {
			return session.Writes{Reminders: []session.Reminder{set, right}, Reply: session.Reply{Silent: true}}, nil
		})
		if !errors.Is(err, session.ErrNotFound) {
			problems = errors.Join(problems, err)
		}
	}
	return problems
}

// Quiet is the part of the day, in the programme's time zone, in which
// reminders and digests wait. From is inclusive, To exclusive, both since
// midnight; it may run over midnight. Equal bounds mean no quiet hours.
type Quiet struct{ From, To time.Duration }

// ParseQuiet reads "21:00-07:00". An empty text means no quiet hours.
func ParseQuiet(text string) (Quiet, error) {
	if text == "" {
		return Quiet{}, nil
	}
	from, to, ok := strings.Cut(text, "-")
	first, err1 := time.Parse("15:04", from)
	last, err2 := time.Parse("15:04", to)
	if !ok || err1 != nil || err2 != nil {
		return Quiet{}, fmt.Errorf("dispatch: quiet hours %q, want two times of day such as \"21:00-07:00\"", text)
	}
	at := func(t time.Time) time.Duration {
		return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute
	}
	return Quiet{From: at(first), To: at(last)}, nil
}

// Until returns when the quiet hours around now end, or now itself outside of
// them. Bounds are times on the wall clock, so that a change to summer time
// moves neither.
func (q Quiet) Until(now time.Time, zone *time.Location) time.Time {
	if q.From == q.To {
		return now
	}
	local := now.In(zone)
	clock := time.Duration(local.Hour())*time.Hour + time.Duration(local.Minute())*time.Minute +
		time.Duration(local.Second())*time.Second + time.Duration(local.Nanosecond())
	overMidnight := q.From > q.To
	switch {
	case !overMidnight && q.From <= clock && clock < q.To, overMidnight && clock < q.To:
		return onDay(local, 0, q.To)
	case overMidnight && clock >= q.From:
		return onDay(local, 1, q.To)
	}
	return now
}

// onDay returns the time of day at, days after local's own day.
func onDay(local time.Time, days int, at time.Duration) time.Time {
	y, m, d := local.Date()
	return time.Date(y, m, d+days, int(at/time.Hour), int(at/time.Minute)%60, 0, 0, local.Location())
}

package dispatch

import (
	"strings"
	"testing"
	"time"
)

// clocks are a clock and what passes, set by hand.
type clocks struct {
	now    time.Time
	passed time.Duration
}

func (c *clocks) tick(by time.Duration) { c.now, c.passed = c.now.Add(by), c.passed+by }
func (c *clocks) jump(by time.Duration) { c.now = c.now.Add(by) }
func (c *clocks) watch(last time.Time) *Clock {
	return NewClock(func() time.Time { return c.now }, func() time.Duration { return c.passed }, last)
}

const day = 24 * time.Hour

var nine = time.Date(2026, 11, 2, 9, 0, 0, 0, time.UTC)

func TestAClockThatGoesIsBelieved(t *testing.T) {
	c := &clocks{now: nine, passed: time.Hour}
	w := c.watch(nine.Add(-time.Hour))
	for _, step := range []time.Duration{time.Second, time.Hour, 400 * day} { // the machine may have slept
		c.tick(step)
		if w.Now() != c.now || w.Sure() != c.now || w.Doubt() != "" {
			t.Errorf("after %v: %v, %v, %q, want %v", step, w.Now(), w.Sure(), w.Doubt(), c.now)
		}
	}
	for _, step := range []time.Duration{5 * time.Minute, -5 * time.Minute, -time.Hour, 58 * time.Minute, -2 * day} {
		c.jump(step)
		if w.Now() != c.now || w.Sure() != c.now || w.Doubt() != "" {
			t.Errorf("set by %v: %v, %v, %q, want %v", step, w.Now(), w.Sure(), w.Doubt(), c.now)
		}
	}
}

func TestAJumpIsNotBelievedUntilItIsConfirmed(t *testing.T) {
	for _, jump := range []time.Duration{11 * time.Minute, 10 * day, 4 * 365 * day} {
		c := &clocks{now: nine}
		w := c.watch(time.Time{})
		c.jump(jump)
		c.tick(time.Hour)
		for range 3 { // however often it is looked at
			if want := nine.Add(time.Hour); w.Now() != want || w.Sure() != want || !strings.Contains(w.Doubt(), "jumped ahead") {
				t.Errorf("%v ahead: %v, %v, %q", jump, w.Now(), w.Sure(), w.Doubt())
			}
		}
		before, now := w.Confirm()
		if before != nine.Add(time.Hour) || now != c.now || w.Now() != c.now || w.Sure() != c.now || w.Doubt() != "" {
			t.Errorf("%v ahead, confirmed: %v to %v, then %v, %q", jump, before, now, w.Now(), w.Doubt())
		}
	}
}

// Who is heard of while the clock is years behind is not dated by it.
func TestAClockThatIsSetFarBackIsNotBelieved(t *testing.T) {
	c := &clocks{now: nine}
	w := c.watch(nine)
	c.jump(-4 * 365 * day)
	c.tick(time.Hour)
	if want := nine.Add(time.Hour); w.Now() != want || w.Sure() != want || !strings.Contains(w.Doubt(), "behind") {
		t.Errorf("%v, %v, %q", w.Now(), w.Sure(), w.Doubt())
	}
	c.jump(4 * 365 * day)
	if w.Now() != nine.Add(time.Hour) || w.Doubt() != "" {
		t.Errorf("set right: %v, %q", w.Now(), w.Doubt())
	}
	c.jump(-30 * day)
	if _, now := w.Confirm(); now != c.now || w.Now() != c.now || w.Doubt() != "" {
		t.Errorf("confirmed: %v, %q", w.Now(), w.Doubt())
	}
}

func TestAClockThatIsSetRightIsBelievedAgain(t *testing.T) {
	c := &clocks{now: nine}
	w := c.watch(time.Time{})
	c.jump(4 * 365 * day)
	_ = w.Now()
	c.tick(time.Hour)
	c.jump(-4 * 365 * day)
	if w.Now() != nine.Add(time.Hour) || w.Doubt() != "" {
		t.Errorf("%v, %q", w.Now(), w.Doubt())
	}
}

func TestAStartHoldsTheClockAgainstTheLastCommit(t *testing.T) {
	c := &clocks{now: nine, passed: time.Minute}
	w := c.watch(nine.Add(-10 * day))
	c.tick(time.Hour)
	if w.Now() != c.now || w.Sure() != nine.Add(-10*day+time.Hour) || !strings.Contains(w.Doubt(), "10 days ahead") {
		t.Errorf("%v, %v, %q", w.Now(), w.Sure(), w.Doubt())
	}
	w.Confirm()
	if w.Sure() != c.now || w.Doubt() != "" {
		t.Errorf("confirmed: %v, %q", w.Sure(), w.Doubt())
	}
	w = c.watch(c.now.Add(-10 * day))
	c.jump(-9 * day) // it was wrong, and is set right
	if w.Sure() != c.now || w.Doubt() != "" {
		t.Errorf("set right: %v, %q", w.Sure(), w.Doubt())
	}
	if w = c.watch(c.now.Add(-2 * day)); w.Sure() != c.now || w.Doubt() != "" {
		t.Errorf("after a weekend: %v, %q", w.Sure(), w.Doubt())
	}
}

// A start right after a commit, which is dated to the minute, watches the clock as any
// other does.
func TestAStartRightAfterTheLastCommit(t *testing.T) {
	c := &clocks{now: nine}
	w := c.watch(nine.Add(50 * time.Second))
	c.tick(time.Hour)
	c.jump(2 * day)
	if want := nine.Add(time.Hour); w.Now().Sub(want).Abs() > time.Minute || !strings.Contains(w.Doubt(), "ahead") {
		t.Errorf("%v, %q", w.Now(), w.Doubt())
	}
}

// A machine whose clock stands while it is off starts in the past; when a time
// server sets it, it is about as late as the last commit.
func TestAClockThatIsSetAfterTheStart(t *testing.T) {
	for _, away := range []time.Duration{time.Minute, 2 * day} {
		c := &clocks{now: time.Unix(0, 0).UTC()}
		w := c.watch(nine)
		c.tick(time.Minute)
		if w.Now() != nine.Add(time.Minute) || !strings.Contains(w.Doubt(), "behind") {
			t.Errorf("before: %v, %q", w.Now(), w.Doubt())
		}
		c.jump(nine.Add(away).Sub(c.now))
		if w.Now() != c.now || w.Doubt() != "" {
			t.Errorf("set to %v after: %v, %q", away, w.Now(), w.Doubt())
		}
		c.jump(time.Hour)
		if w.Now() == c.now {
			t.Errorf("a jump after that is believed")
		}
	}
	c := &clocks{now: time.Unix(0, 0).UTC()}
	w := c.watch(nine)
	c.jump(nine.Add(30 * day).Sub(c.now))
	if w.Doubt() == "" {
		t.Error("a month after the last commit is believed")
	}
}

// After a clock that was years ahead the budget is not open anew, and comes
// back the next day.
func TestABudgetComesBackAfterAClockThatWasAhead(t *testing.T) {
	b := &budget{zone: time.UTC, perSegment: 1, limit: 10}
	b.reserve(nine.AddDate(4, 0, 0), 10, false)
	if ok, _ := b.reserve(nine, 1, false); ok {
		t.Error("opened anew by setting the clock back")
	}
	if ok, _ := b.reserve(nine.AddDate(0, 0, 1), 10, false); !ok {
		t.Error("still spent the next day")
	}
}

// A gateway beside others goes by the clock that all share when its own is far from it,
// and by its own again when that is right; a shared clock that is years from the last
// commit is not gone by.
func TestAClockBesideOthers(t *testing.T) {
	truth := time.Date(2026, 10, 6, 8, 0, 0, 0, time.UTC)
	for _, off := range []time.Duration{0, time.Minute, -time.Minute, time.Hour, -time.Hour, 30 * time.Hour, -30 * time.Hour, 4 * 365 * 24 * time.Hour, -4 * 365 * 24 * time.Hour} {
		ran, wrong := time.Duration(0), off
		wall := func() time.Time { return truth.Add(ran + wrong) }
		c := NewSharedClock(wall, func() time.Duration { return ran }, truth.Add(-time.Minute), truth)
		want := wrong
		if wrong.Abs() > mostJump {
			want = 0
		}
		ran = time.Hour
		if now := c.Now(); !now.Equal(truth.Add(ran+want)) || !c.Sure().Equal(now) {
			t.Errorf("off by %s at the start it says %s, for sure %s, and it is %s", off, now, c.Sure(), truth.Add(ran))
		}
		if doubt := c.Doubt(); (doubt != "") != (want != wrong) {
			t.Errorf("off by %s it is doubted: %q", off, doubt)
		}
		wrong, ran = 0, 2*time.Hour
		if now := c.Now(); !now.Equal(truth.Add(ran)) || c.Doubt() != "" {
			t.Errorf("off by %s at the start, then right, it says %s, and it is %s: %s", off, now, truth.Add(ran), c.Doubt())
		}
		away := truth.AddDate(4, 0, 0)
		if sure := NewSharedClock(func() time.Time { return truth }, func() time.Duration { return 0 }, truth.Add(-time.Minute), away).Sure(); sure.After(truth) {
			t.Errorf("by a shared clock that is years ahead it is %s", sure)
		}
	}
}

// At the start the shared clock was ahead, or behind, and ours was right: when it is
// right again, ours is gone by. Two clocks that jump together, as on one machine, and a
// shared one that was right all the time, change nothing.
func TestASharedClockThatWasWrongIsGoneByNoLonger(t *testing.T) {
	for _, off := range []time.Duration{2 * time.Hour, -2 * time.Hour, 2 * day, -2 * day} {
		for _, jump := range []time.Duration{0, -4 * 365 * day, 4 * 365 * day} {
			c := &clocks{now: nine}
			w := NewSharedClock(func() time.Time { return c.now }, func() time.Duration { return c.passed }, nine.Add(-time.Hour), nine.Add(off))
			c.tick(time.Minute)
			w.Shared(c.now.Add(off))
			if want := nine.Add(off + time.Minute); w.Now() != want || w.Doubt() == "" {
				t.Errorf("off by %s: %s, %q", off, w.Now(), w.Doubt())
			}
			c.jump(jump)
			w.Shared(c.now)
			want := c.now
			if jump != 0 {
				want = nine.Add(off + time.Minute)
			}
			if w.Now() != want || (w.Doubt() == "") != (jump == 0) {
				t.Errorf("off by %s, and both then by %s: %s, want %s, %q", off, jump, w.Now(), want, w.Doubt())
			}
		}
	}
	c := &clocks{now: nine}
	w := NewSharedClock(func() time.Time { return c.now }, func() time.Duration { return c.passed }, nine.Add(-time.Hour), nine)
	c.jump(4 * 365 * day)
	w.Shared(c.now)
	if w.Now() != nine || w.Doubt() == "" {
		t.Errorf("both years ahead: %s, %q", w.Now(), w.Doubt())
	}
}

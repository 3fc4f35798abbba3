package dispatch

import (
	"sync"
	"time"

	"threshline/session"
)

// warnShare is the share of a day's limit at which the programme is warned.
const warnShare = 0.8

// moneySlack is half a thousandth of a unit: it absorbs the rounding of prices
// such as 0.1.
const moneySlack = 0.0005

// budget counts the segments of one part of a channel's money of one day, in the
// programme's time zone.
type budget struct {
	zone       *time.Location
	perSegment float64 // money
	limit      float64 // money a day; 0 is no limit

	mu     sync.Mutex
	day    time.Time // the midnight that began it
	spent  int       // segments
	warned bool
	full   bool
}

// crossing says which marks a reservation passed for the first time that day.
type crossing struct {
	warning, stop bool
	spent         float64
}

// reserve takes segments out of the day's budget before they are sent. If they do not
// fit it takes nothing and returns false, unless must is set.
func (b *budget) reserve(now time.Time, segments int, must bool) (ok bool, c crossing) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.turnDay(now)
	after := float64(b.spent+segments) * b.perSegment
	over := b.limit > 0 && after > b.limit+moneySlack
	if over && !b.full {
		b.full, c.stop = true, true
	}
	if !over || must {
		b.spent += segments
		ok = true
	}
	if b.limit > 0 && !b.warned && after >= b.limit*warnShare {
		b.warned, c.warning = true, true
	}
	c.spent = float64(b.spent) * b.perSegment
	return ok, c
}

// refund gives back the segments of a message that the carrier surely did not
// take.
func (b *budget) refund(now time.Time, segments int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if session.Midnight(now, b.zone).Equal(b.day) {
		b.spent = max(0, b.spent-segments)
	}
}

// seed sets what was spent today before this process started.
func (b *budget) seed(now time.Time, segments int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.turnDay(now)
	b.spent = segments
}

func (b *budget) turnDay(now time.Time) {
	switch day := session.Midnight(now, b.zone); {
	case day.After(b.day):
		b.day, b.spent, b.warned, b.full = day, 0, false, false
	case day.Before(onDay(b.day, -1, 0)):
		// A clock that is set back must not renew the budget. But if the clock had
		// been far ahead, the next day's budget still comes in time.
		b.day = day
	}
}

// renews returns when the next day's budget begins.
func (b *budget) renews(now time.Time) time.Time { return onDay(now.In(b.zone), 1, 0) }

package dispatch

import (
	"context"
	"math"
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

// Purse is a channel's money of the day, shared with other gateways. Without a
// purse each worker counts for itself.
type Purse interface {
	// Spend takes segments out of a part of a channel's day, and returns what is spent
	// then. day is the day's midnight. If that would be more than most, and most is not
	// below 0, it takes nothing, unless must is set. Segments below 0 are given back.
	// It also returns whether they were taken, and whether they are the first of the
	// day that were too much for anybody.
	Spend(ctx context.Context, channel, part string, day time.Time, segments, most int, must bool) (spent int, taken, first bool, err error)
}

// reserve takes a message's segments out of the day, here or for all gateways.
func (w *Worker) reserve(ctx context.Context, out *outlet, part session.Part, now time.Time, segments int, must bool) (ok bool, c crossing, err error) {
	if w.cfg.Purse == nil {
		ok, c = out.budgets[part].reserve(now, segments, must)
		return ok, c, nil
	}
	most, mark := -1, 0
	if limit := out.limit(part); limit > 0 && out.PerSegment > 0 {
		most = int(math.Floor((limit + moneySlack) / out.PerSegment))
		mark = int(math.Ceil((limit*warnShare - moneySlack) / out.PerSegment))
	}
	spent, taken, first, err := w.cfg.Purse.Spend(ctx, out.Name, string(part), session.Midnight(now, w.cfg.Zone), segments, most, must)
	if err != nil {
		return false, c, err
	}
	c.spent, c.stop = float64(spent)*out.PerSegment, first
	// The gateway that crosses the mark reports it for all.
	c.warning = taken && most >= 0 && spent >= mark && spent-segments < mark
	return taken, c, nil
}

// refund gives back the segments of a message that the carrier surely did not
// take, to the day on which they were reserved.
func (w *Worker) refund(ctx context.Context, out *outlet, part session.Part, reserved time.Time, segments int) {
	if w.cfg.Purse == nil {
		out.budgets[part].refund(reserved, segments)
		return
	}
	if _, _, _, err := w.cfg.Purse.Spend(ctx, out.Name, string(part), session.Midnight(reserved, w.cfg.Zone), -segments, -1, true); err != nil {
		w.cfg.Watcher.Failed("give back the money of a message that was not taken", err)
	}
}

// SentLister lists messages for a worker that takes over from an earlier run.
type SentLister interface {
	// Sent lists messages, newest made first, that come after the given one in
	// that order; a zero message starts at the newest.
	Sent(ctx context.Context, after session.Outgoing, n int) ([]session.Outgoing, error)
}

// lookBack is how long before the day's begin we look for messages that were
// sent on that day. Our own choice: answers are kept for a day.
const lookBack = 48 * time.Hour

// SpentToday makes a Config.SpentToday from a store. It counts a message on the
// day of its last change. A receipt that came today for yesterday's message is
// so counted today: it rather counts too much than too little.
func SpentToday(store SentLister) func(ctx context.Context, channel string, since time.Time) (map[session.Part]int, error) {
	return func(ctx context.Context, channel string, since time.Time) (map[session.Part]int, error) {
		segments := map[session.Part]int{}
		var last session.Outgoing
		for {
			page, err := store.Sent(ctx, last, agendaBatch)
			if err != nil {
				return nil, err
			}
			for _, o := range page {
				if o.Created.Before(since.Add(-lookBack)) {
					return segments, nil
				}
				if wasHandedOn(o.State) && o.Channel == channel && !o.Changed.Before(since) {
					segments[o.Purpose.Part()] += o.Segments
				}
			}
			if len(page) < agendaBatch {
				return segments, nil
			}
			last = page[len(page)-1]
		}
	}
}

// wasHandedOn reports whether a carrier took the message.
func wasHandedOn(s session.OutgoingState) bool {
	return s == session.HandedOn || s == session.Delivered || s == session.Failed
}

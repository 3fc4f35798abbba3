package dispatch

import (
	"context"
	"math"
	"time"

	"threshline/session"
)

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

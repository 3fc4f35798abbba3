package dispatch

import (
	"context"
	"time"

	"threshline/session"
)

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

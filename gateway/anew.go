package gateway

import (
	"context"
	"strconv"
	"time"

	"threshline/gateway/carrier"
	"threshline/session"
)

// redelivered tells whether a USSD message that was answered before, at a time, is
// the same one again. A dial ends that: carriers give the ids of messages and of
// sessions anew, and what was shown before is of no use. Only a dial after which
// nothing was said may have come again. Where it is another message, key is what it
// is known by from now on: by the dial of its session as well.
func (g *Gateway) redelivered(ctx context.Context, in carrier.Inbound, key *session.Key, given, now time.Time) (bool, error) {
	var d session.Dialogue
	_, err := g.cfg.Store.Exchange(ctx, session.Key{}, func(v session.View) (w session.Writes, err error) {
		d, err = v.Dialogue(in.From)
		w.Reply.Silent = true
		return w, err
	})
	if err != nil {
		return false, err
	}
	again := in.Event == session.Start && d.Last.After(d.Dialled)
	if !again && !given.Before(d.Dialled) {
		return true, nil
	}
	begun := d.Dialled
	if again {
		begun = now
	}
	key.Duplicate += "|" + strconv.FormatInt(begun.UnixNano(), 36)
	return false, nil
}

// exchange has the store run a turn under a key, and under another where a carrier
// gave an id again.
func (g *Gateway) exchange(ctx context.Context, c *channel, in carrier.Inbound, key session.Key, now time.Time, turn session.Turn) (session.Outcome, error) {
	outcome, err := g.cfg.Store.Exchange(ctx, key, turn)
	if err != nil || !outcome.Duplicate || outcome.Until.IsZero() || c.Kind != session.USSD || in.MessageID == "" {
		return outcome, err
	}
	same, err := g.redelivered(ctx, in, &key, outcome.Until.Add(-keepScreens), now)
	if err != nil || same {
		return outcome, err
	}
	return g.cfg.Store.Exchange(ctx, key, turn)
}

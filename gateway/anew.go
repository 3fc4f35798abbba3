package gateway

import (
	"context"
	"strconv"
	"time"

	"threshline/gateway/carrier"
	"threshline/session"
)

// redelivered tells whether a USSD message that was answered before, at a time, is
// the same one again. Carriers give the ids of messages, and of sessions, anew: a
// dial of the session after which something was said begins another, and what was
// shown before it is of no use. Where it is another message, key is what it is
// known by from now on: by that dial as well.
func (g *Gateway) redelivered(ctx context.Context, in carrier.Inbound, key *session.Key, given, now time.Time) (bool, error) {
	var d session.Dialogue
	_, err := g.cfg.Store.Exchange(ctx, session.Key{}, func(v session.View) (w session.Writes, err error) {
		d, err = v.Dialogue(in.From)
		w.Reply.Silent = true
		return w, err
	})
	if err != nil || d.DialledAs != bounded(in.NetworkSession) {
		return true, err
	}
	begun := d.Dialled
	switch {
	case in.Event == session.Start && d.Last.After(d.Dialled):
		begun = now
	case !given.Before(d.Dialled):
		return true, nil
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

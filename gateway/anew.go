package gateway

import (
	"context"
	"strconv"
	"time"

	"threshline/gateway/carrier"
	"threshline/session"
)

// redelivered reports whether a USSD message that was already answered at a time is the
// same message again. Carriers reuse ids of messages and sessions: a new dial begins
// another session, and what was shown before is no longer valid. An answer that a clock
// which was ahead dated before the dial is not valid either. If it is another message,
// key is its new key, which includes that dial.
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
	ahead := func(t time.Time) bool { return t.After(now.Add(keepScreens)) } // by a clock that was wrong
	switch {
	case in.Event == session.Start && (d.Last.After(d.Dialled) || ahead(d.Dialled)):
		begun = now
	case ahead(given) && !ahead(d.Dialled): // the dial came when the clock was right again
	case !given.Before(d.Dialled):
		return true, nil
	}
	key.Duplicate += "|" + strconv.FormatInt(begun.UnixNano(), 36)
	return false, nil
}

// exchange has the store run a turn under a key, or under another key if a carrier
// reused an id.
func (g *Gateway) exchange(ctx context.Context, c *inlet, in carrier.Inbound, key session.Key, now time.Time, turn session.Turn) (session.Outcome, error) {
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

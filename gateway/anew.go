package gateway

import (
	"context"
	"errors"
	"strconv"
	"time"

	"threshline/gateway/carrier"
	"threshline/session"
)

// errAnotherDial says that a message belongs to a dial whose time is part of its
// key. Its turn changes nothing, and runs again under that key.
var errAnotherDial = errors.New("gateway: the key wants the time of the dial")

// anew reports whether a USSD message is not the one that its carrier's ids name, and
// of which dial it is. Carriers reuse ids of messages and sessions: a new dial begins
// another session, and what was shown before is no longer valid, however a clock that
// was wrong dated it. given is when a message with these ids was answered, zero if
// none is known.
func anew(d *session.Dialogue, in carrier.Inbound, given, now time.Time) (begun time.Time, yes bool) {
	ahead := func(t time.Time) bool { return t.After(now.Add(keepScreens)) } // by a clock that was wrong
	known, start := !given.IsZero(), in.Event == session.Start
	switch {
	case d.DialledAs != bounded(in.NetworkSession):
		return now, start && known && d.DialledAs == "" // the phone was forgotten meanwhile
	case in.NetworkSession == "" && !known:
		return now, false
	case start && (!d.Last.Equal(d.Dialled) || ahead(d.Dialled)): // earlier, where the clock was set back
		return now, true
	case d.Reused:
		return d.Dialled, true
	case known && (given.Before(d.Dialled) || ahead(given) && !ahead(d.Dialled)):
		return d.Dialled, true
	}
	return now, false
}

// goOn has time go on within a session of which another gateway, whose clock is a
// little ahead, took the dial: what is said later is not heard before it.
func goOn(d *session.Dialogue, in carrier.Inbound, now time.Time) {
	ahead := d.Dialled.Sub(now)
	if d.DialledAs != bounded(in.NetworkSession) || ahead < 0 || ahead > keepScreens {
		return
	}
	if d.Last = d.Dialled.Add(time.Nanosecond); !d.Reused { // else it is in the messages' keys
		d.Dialled = now
	}
}

// dial says of which dial a message is, where its carrier uses ids again.
type dial struct {
	byID  bool      // the message is known by an id that may be used again
	given time.Time // when one with that id was answered, zero if none is known
	begun time.Time // the time that is in the message's key, zero if none is
}

// another reports whether a message is of a dial that its key does not name.
func (a dial) another(d *session.Dialogue, in carrier.Inbound, now time.Time) (begun time.Time, yes bool) {
	if !a.byID {
		return now, false
	}
	begun, yes = anew(d, in, a.given, now)
	return begun, yes && !begun.Equal(a.begun)
}

// exchange has the store run a turn under the key of a message, or under the key
// with its dial if the carrier uses its ids again: with the one that another gateway
// has taken meanwhile, if the message went to both.
func (g *Gateway) exchange(ctx context.Context, c *inlet, in carrier.Inbound, key session.Key, now time.Time, ran *afterwards) (session.Outcome, error) {
	of := dial{byID: c.Kind == session.USSD && in.MessageID != ""}
	outcome, err := g.cfg.Store.Exchange(ctx, key, g.turn(c, in, now, ran, of))
	begun, again := ran.begun, errors.Is(err, errAnotherDial)
	if err == nil && of.byID && outcome.Duplicate && !outcome.Until.IsZero() {
		of.given = outcome.Until.Add(-keepScreens)
		var d session.Dialogue
		if d, err = g.dialogue(ctx, in.From); err == nil {
			begun, again = of.another(&d, in, now)
		}
	}
	for byMessage := key.Duplicate; again; begun, again = ran.begun, errors.Is(err, errAnotherDial) {
		of.begun, key.Duplicate = begun, byMessage+"|"+strconv.FormatInt(begun.UnixNano(), 36)
		outcome, err = g.cfg.Store.Exchange(ctx, key, g.turn(c, in, now, ran, of))
	}
	return outcome, err
}

// dialogue reads what a phone's dialogue is now.
func (g *Gateway) dialogue(ctx context.Context, phone session.Phone) (d session.Dialogue, err error) {
	_, err = g.cfg.Store.Exchange(ctx, session.Key{}, func(v session.View) (w session.Writes, err error) {
		d, err = v.Dialogue(phone)
		w.Reply.Silent = true
		return w, err
	})
	return d, err
}

package gateway

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"threshline/gateway/carrier"
	"threshline/gateway/dispatch"
	"threshline/session"
)

// exchangeWithin is how long one exchange may take: much shorter than the
// server waits for the answer. Our own choice.
const exchangeWithin = 10 * time.Second

// answer gives one message to the dialogue, and returns the reply when
// everything it changed is stored.
func (g *Gateway) answer(ctx context.Context, c *inlet, in carrier.Inbound) (session.Reply, error) {
	now := g.cfg.Now()
	began := time.Now() // by a clock that costs next to nothing
	place := g.order.enter(in.From)
	defer g.order.leave(in.From, place)
	if !place.comes(exchangeWithin) {
		return session.Reply{}, errOverload
	}
	over := hungUp(in)
	heard, limited := false, c.Name+"|"+string(in.From)
	if !over {
		if !g.phones.allow(limited, now) {
			return session.Reply{}, errTooMuch
		}
		defer func() {
			// It is the carrier, not the person, who delivers again.
			if !heard {
				g.phones.giveBack(limited, now)
			}
		}()
	}
	select {
	case g.flight <- struct{}{}:
		defer func() { <-g.flight }()
	default:
		return session.Reply{}, errOverload
	}
	// A carrier that hangs up has still delivered the message: it is stored.
	var ran afterwards
	outcome, err := g.exchange(patient{context.WithoutCancel(ctx), began.Add(exchangeWithin)}, c, in, g.key(c, in, now), now, &ran)
	if errors.Is(err, errTooMuch) {
		return session.Reply{}, err
	}
	c.metrics.count(outcome, err, time.Since(began))
	if err != nil {
		return session.Reply{}, err
	}
	heard = !outcome.Duplicate
	if heard && ran.queued && g.cfg.Queued != nil {
		g.cfg.Queued()
	}
	if heard && ran.left != nil {
		g.gone.leave(*ran.left, now)
	}
	return outcome.Reply, nil
}

// patient is a context that ends at a set time and not before. It has no timer:
// a store asks before it begins, and finishes what it has begun.
type patient struct {
	context.Context
	until time.Time
}

func (p patient) Deadline() (time.Time, bool) { return p.until, true }

func (p patient) Err() error {
	if time.Now().After(p.until) {
		return context.DeadlineExceeded
	}
	return p.Context.Err()
}

// key says whose exchange it is and how a redelivery is recognised: by the
// sender, the session and the message's id. So even if a carrier uses an id
// twice, nobody sees another person's reply or the screen of another session.
// Without an id, the same text inside the channel's window counts as a
// redelivery, if the channel has a window.
func (g *Gateway) key(c *inlet, in carrier.Inbound, now time.Time) session.Key {
	key := session.Key{Phone: in.From, KeepUntil: now.Add(keepDuplicates)}
	if g.cfg.Foresee != nil {
		key.Asks = g.cfg.Foresee(cmp.Or(in.Text, in.Whole))
	}
	switch {
	case in.MessageID != "":
		key.Duplicate = c.Name + "|" + string(in.From) + "|" + bounded(in.MessageID)
		if c.Kind == session.USSD {
			key.Duplicate += "|" + bounded(in.NetworkSession)
			key.KeepUntil = now.Add(keepScreens)
		}
	case c.Window > 0:
		key.Duplicate = g.seen.key(c.Name, in.From, string(in.Event)+in.NetworkSession, in.Text, now, c.Window, g.stamp)
		// The key is of no use once the window has passed.
		key.KeepUntil = now.Add(c.Window + time.Minute)
	}
	return key
}

// longestID is the most bytes of a carrier's id that are kept as they are.
const longestID = 128

// bounded turns a carrier's id into a key. A short, plain id stays as it is;
// any other is replaced by its hash, so that nobody can fill the store with
// long ids.
func bounded(id string) string {
	plain := func(r rune) bool { return r > ' ' && r < 0x7f }
	if len(id) <= longestID && strings.IndexFunc(id, func(r rune) bool { return !plain(r) }) < 0 {
		return id
	}
	sum := sha256.Sum256([]byte(id))
	return "sha256-" + hex.EncodeToString(sum[:])
}

// turn is what the engine runs: the dialogue's step, with new random bits for each run,
// and the reply as an outgoing message if the channel answers by a call. ran is what
// the last run leaves to be done. of says of which dial the key is, which anew may
// contradict.
func (g *Gateway) turn(c *inlet, in carrier.Inbound, now time.Time, ran *afterwards, of dial) session.Turn {
	return func(v session.View) (session.Writes, error) {
		*ran = afterwards{}
		entropy, err := dispatch.Bits(g.cfg.Entropy)
		if err != nil {
			return session.Writes{}, err
		}
		if counts, ok := g.gone.back(in.From, now); ok {
			v = returning{v, in.From, counts}
		}
		d, err := v.Dialogue(in.From)
		if err != nil {
			return session.Writes{}, fmt.Errorf("gateway: read what was heard before: %w", err)
		}
		if begun, another := of.another(&d, in, now); another {
			ran.begun = begun
			return session.Writes{}, errAnotherDial
		}
		if g.tooMuch(&d, in, now) {
			return session.Writes{}, errTooMuch
		}
		writes, err := g.cfg.Step(&heard{v, in.From, &d}, session.Input{
			Channel: c.Name, Kind: c.Kind, Event: in.Event, Phone: in.From, Text: latest(&d, c, in),
			NetworkSession: bounded(in.NetworkSession), At: now, Entropy: entropy, Budget: c.Budget, Star: c.Star,
		})
		if err != nil {
			return session.Writes{}, err
		}
		g.remember(&writes, in, now, !of.begun.IsZero() && in.NetworkSession != "")
		if ran.left, err = leaves(v, &writes, in, now); err != nil {
			return session.Writes{}, err
		}
		if c.ByCall && !writes.Reply.Silent && writes.Reply.Text != "" && c.answers(in.From) {
			o, err := g.outgoing(v, c, in, &writes, now)
			if err != nil {
				return session.Writes{}, err
			}
			writes.Outgoing = append(writes.Outgoing, o)
		}
		ran.queued = len(writes.Outgoing) > 0
		return writes, nil
	}
}

// heard is a view of which a phone's dialogue was read already: it is given away once,
// and not read again.
type heard struct {
	session.View
	phone    session.Phone
	dialogue *session.Dialogue
}

func (h *heard) Dialogue(p session.Phone) (session.Dialogue, error) {
	d := h.dialogue
	if p != h.phone || d == nil {
		return h.View.Dialogue(p)
	}
	h.dialogue = nil
	return *d, nil
}

// afterwards is what is done when an exchange is stored.
type afterwards struct {
	begun  time.Time         // the dial whose time the key wants
	queued bool              // a message waits to go out
	left   *session.Dialogue // of a phone that was forgotten
}

// longestWhole is the most bytes that are stored of the last input from a carrier that
// repeats the whole dialogue. All inputs of a person in one session are far shorter.
const longestWhole = 2000

// latest returns the new part of a message. Only channels that repeat the whole
// dialogue need the earlier messages, and only those of the same network
// session.
func latest(d *session.Dialogue, c *inlet, in carrier.Inbound) string {
	if in.Whole == "" {
		return in.Text
	}
	heard := d.Memo.Whole
	if d.Memo.WholeOf != bounded(in.NetworkSession) { // what was kept of an earlier session is of no use
		heard = ""
	}
	text, _ := c.Carrier.Latest(heard, in)
	return text
}

// tooMuch reports whether a phone has sent too many messages in a day. The count is
// stored with its dialogue, so that a restart or another gateway does not begin
// again at zero.
func (g *Gateway) tooMuch(d *session.Dialogue, in carrier.Inbound, now time.Time) bool {
	return g.cfg.Limits.PerDay > 0 && !hungUp(in) && d.HeardADay(now) >= g.cfg.Limits.PerDay
}

// hungUp reports whether a message only says that its session is over.
func hungUp(in carrier.Inbound) bool { return in.Event == session.End || in.Event == session.Timeout }

// remember counts the message, keeps the whole dialogue for the next message's latest,
// and notes when a network session began.
func (g *Gateway) remember(w *session.Writes, in carrier.Inbound, now time.Time, reused bool) {
	if w.Dialogue == nil || w.Dialogue.Empty() || hungUp(in) {
		return
	}
	d := w.Dialogue
	d.Hear(now, g.cfg.Limits.PerDay)
	if in.Event == session.Start {
		d.Dialled, d.DialledAs, d.Reused = now, bounded(in.NetworkSession), reused
	} else {
		goOn(d, in, now)
	}
	if in.Whole == "" {
		return
	}
	d.Memo.WholeOf, d.Memo.Whole = bounded(in.NetworkSession), in.Whole
	if len(in.Whole) > longestWhole {
		d.Memo.WholeOf, d.Memo.Whole = "", ""
	}
}

// outgoing makes a reply into a message of its own.
func (g *Gateway) outgoing(v session.View, c *inlet, in carrier.Inbound, w *session.Writes, now time.Time) (session.Outgoing, error) {
	id, err := newOutgoingID(g.cfg.Entropy)
	if err != nil {
		return session.Outgoing{}, err
	}
	o := session.Outgoing{
		ID: id, To: in.From, Channel: c.Name, Text: w.Reply.Text, Purpose: session.Answer,
		Created: now, Due: now, Expires: now.Add(g.cfg.AnswerFor), State: session.Queued, Changed: now,
	}
	if w.Reply.Safety {
		// A caution is useful even when it comes late.
		o.Purpose, o.Expires = session.Safety, time.Time{}
		return o, nil
	}
	theirs := func(p session.Person) bool { return p.Phone == in.From }
	if _, err := v.PersonByPhone(in.From); errors.Is(err, session.ErrNotFound) && !slices.ContainsFunc(w.People, theirs) {
		o.Purpose = session.Greeting
	} else if err != nil && !errors.Is(err, session.ErrNotFound) {
		return session.Outgoing{}, fmt.Errorf("gateway: look up who is answered: %w", err)
	}
	if d := w.Dialogue; c.PhoneShare > 0 && d != nil && !d.Empty() && o.Purpose == session.Answer {
		if !d.Answer(c.Segments(o.Text), c.PhoneShare) {
			o.Purpose = session.Further
		}
	}
	return o, nil
}

// newOutgoingID makes an id of 24 characters, so that it fits whatever field a
// carrier has for a client reference.
func newOutgoingID(entropy io.Reader) (session.OutgoingID, error) {
	var raw [12]byte
	if _, err := io.ReadFull(entropy, raw[:]); err != nil {
		return "", fmt.Errorf("gateway: no random bits: %w", err)
	}
	return session.OutgoingID(hex.EncodeToString(raw[:])), nil
}

package screen_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"threshline/session"
	"threshline/session/store/mem"
)

// delivery is one message as a carrier handed it over, and what was answered.
type delivery struct {
	id    string
	in    session.Input
	reply session.Reply
}

// line is a gateway with a store, and what its carrier has delivered so far.
type line struct {
	w     *world
	store *mem.Store
	sent  []delivery
}

// Carriers deliver messages again, at once or much later and in any order,
// among messages of other phones: each gets the answer that it got the first
// time, and nothing is changed by it. The library prints its seed on failure.
func TestRandomRedeliveriesGetTheSameAnswerAndChangeNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		for range dialogues {
			randomLine(t, rt)
		}
	})
}

func randomLine(t *testing.T, rt *rapid.T) {
	l := &line{w: newWorld(t, "agmark-paddy", "en"), store: mem.New(mem.Options{})}
	phones := []*handset{known(l.w, "+33639985501", session.Agent), known(l.w, "+33639985502", session.Grower)}
	if err := l.people(); err != nil {
		rt.Fatal(err)
	}
	for range rapid.IntRange(5, 60).Draw(rt, "messages") {
		if len(l.sent) > 0 && rapid.IntRange(0, 3).Draw(rt, "again") == 0 {
			l.again(rt, rapid.IntRange(0, len(l.sent)-1).Draw(rt, "which"))
			continue
		}
		l.anew(rt, rapid.SampledFrom(phones).Draw(rt, "phone"))
	}
}

// people brings those that the world knows into the store.
func (l *line) people() error {
	_, err := l.store.Exchange(context.Background(), session.Key{}, func(session.View) (session.Writes, error) {
		var w session.Writes
		for _, p := range l.w.store.people {
			w.People = append(w.People, p)
		}
		return w, nil
	})
	return err
}

func (l *line) deliver(rt *rapid.T, id string, in session.Input) session.Outcome {
	key := session.Key{Phone: in.Phone, Duplicate: id, KeepUntil: in.At.Add(48 * time.Hour)}
	var forget []session.Trace
	out, err := l.store.Exchange(context.Background(), key, func(v session.View) (session.Writes, error) {
		w, err := l.w.machine.Step(v, in)
		forget = w.Forget
		return w, err
	})
	if err != nil {
		rt.Fatal(err)
	}
	for _, t := range forget {
		l.forget(t)
	}
	return out
}

// forget expects silence for who was forgotten, and no name for others.
func (l *line) forget(t session.Trace) {
	for i := range l.sent {
		d := &l.sent[i]
		if d.reply.Text = t.Redact(d.reply.Text); d.in.Phone == t.Phone {
			d.reply = session.Reply{Silent: true}
		}
	}
}

// anew delivers a message that is likely to be taken where the dialogue stands.
func (l *line) anew(rt *rapid.T, h *handset) {
	stood := l.dialogue(rt, h.number)
	in := session.Input{
		Channel: "valley-ussd", Kind: session.USSD, Event: session.Continue, Phone: h.number, Text: rapid.SampledFrom(stray).Draw(rt, "stray"),
		NetworkSession: fmt.Sprintf("%s/%d", string(h.number), h.network), At: l.w.now, Entropy: [2]uint64{20261125, uint64(len(l.sent))}, Budget: budget,
	}
	if ways := good[stood.Screen]; len(ways) > 0 && rapid.IntRange(0, 9).Draw(rt, "good") < 8 {
		in.Text = rapid.SampledFrom(ways).Draw(rt, "entry")
	}
	switch {
	case rapid.IntRange(0, 4).Draw(rt, "sms") == 0:
		in.Channel, in.Kind, in.NetworkSession = "valley-sms", session.SMS, ""
	case !h.open:
		h.network++
		in.Event, in.Text, in.NetworkSession = session.Start, "", fmt.Sprintf("%s/%d", string(h.number), h.network)
	}
	id := fmt.Sprintf("%s %d", in.Channel, len(l.sent))
	out := l.deliver(rt, id, in)
	if out.Duplicate {
		rt.Fatalf("%q was taken for a redelivery", in.Text)
	}
	if in.Kind == session.USSD {
		h.open = out.Reply.More
	}
	l.sent = append(l.sent, delivery{id, in, out.Reply})
	l.w.now = l.w.now.Add(20 * time.Second)
}

func (l *line) again(rt *rapid.T, which int) {
	d := l.sent[which]
	d.in.At, d.in.Entropy = l.w.now, [2]uint64{7, uint64(which)} // another run: another time, other random bits
	before := l.state(rt)
	out := l.deliver(rt, d.id, d.in)
	if !out.Duplicate || out.Reply != d.reply {
		rt.Fatalf("%q again: duplicate %v, answered %q, first %q", d.in.Text, out.Duplicate, out.Reply.Text, d.reply.Text)
	}
	if after := l.state(rt); after != before {
		rt.Fatalf("%q again changed\n%s\nto\n%s", d.in.Text, before, after)
	}
}

func (l *line) dialogue(rt *rapid.T, phone session.Phone) (d session.Dialogue) {
	err := l.store.Read(context.Background(), func(v session.View) (err error) {
		d, err = v.Dialogue(phone)
		return err
	})
	if err != nil {
		rt.Fatal(err)
	}
	return d
}

// state writes down all that a message could have changed.
func (l *line) state(rt *rapid.T) string {
	ctx := context.Background()
	checks, err := l.store.Filed(ctx, 0, 1000)
	if err != nil {
		rt.Fatal(err)
	}
	people, err := l.store.People(ctx, "", 1000)
	if err != nil {
		rt.Fatal(err)
	}
	counts, err := l.store.Counts(ctx)
	if err != nil {
		rt.Fatal(err)
	}
	due, err := l.store.Due(ctx, l.w.now.AddDate(1, 0, 0), 1000)
	if err != nil {
		rt.Fatal(err)
	}
	return fmt.Sprintf("%+v\n%+v\n%+v\n%+v\n%+v\n%+v", checks, people, counts, due,
		l.dialogue(rt, "+33639985501"), l.dialogue(rt, "+33639985502"))
}

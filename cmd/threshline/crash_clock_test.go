package main

import (
	"context"
	"fmt"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"threshline/gateway/dispatch"
	"threshline/gateway/gsm"
	"threshline/session"
	"threshline/session/store/bolt"
	"threshline/session/talk"
)

// watchmaker is a store, the screens and an outgoing worker under one clock
// that is set by hand.
type watchmaker struct {
	t       *testing.T
	now     time.Time
	store   *bolt.Store
	machine *talk.Machine
	worker  *dispatch.Worker
	handed  map[session.OutgoingID]int
	mu      sync.Mutex
	count   int
}

func newWatchmaker(t *testing.T) *watchmaker {
	t.Helper()
	store, err := bolt.Open(filepath.Join(t.TempDir(), "store.db"), bolt.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := store.Close(); err != nil {
			t.Error(err)
		}
	})
	w := &watchmaker{
		t: t, now: time.Date(2026, 11, 2, 9, 0, 0, 0, time.UTC), store: store,
		machine: siteDialogue(t, newSite(t, program{}, "127.0.0.1:1")), handed: map[session.OutgoingID]int{},
	}
	w.worker, err = dispatch.New(dispatch.Config{
		Queue: store, Outlets: []dispatch.Outlet{{Name: "valley-sms", Carrier: w}}, Now: func() time.Time { return w.now },
	})
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// Hand implements dispatch.Carrier.
func (w *watchmaker) Hand(_ context.Context, o session.Outgoing) (string, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.handed[o.ID]++
	return "c-" + string(o.ID), nil
}

// say is one message of one phone, which also queues a text.
func (w *watchmaker) say(entry, id string) session.Outcome {
	w.t.Helper()
	w.count++
	in := session.Input{
		Channel: "valley-ussd", Kind: session.USSD, Event: session.Continue, Phone: "+33639980001", Text: entry, NetworkSession: "s1",
		At: w.now, Entropy: [2]uint64{uint64(w.count), 7}, Budget: session.Budget{Septets: 160, Count: gsm.Count},
	}
	if entry == "" {
		in.Event = session.Start
	}
	out, err := w.store.Exchange(w.t.Context(), session.Key{Phone: in.Phone, Duplicate: id, KeepUntil: w.now.Add(7 * 24 * time.Hour)}, func(v session.View) (session.Writes, error) {
		writes, err := w.machine.Step(v, in)
		writes.Outgoing = append(writes.Outgoing, session.Outgoing{
			ID: session.OutgoingID("o-" + id), To: in.Phone, Channel: "valley-sms", Text: "a copy", Purpose: session.Answer,
			Created: w.now, Due: w.now, Expires: w.now.Add(24 * time.Hour),
		})
		return writes, err
	})
	if err != nil {
		w.t.Fatal(err)
	}
	return out
}

// set moves the clock, and does what the loops do.
func (w *watchmaker) set(by time.Duration) {
	w.t.Helper()
	w.now = w.now.Add(by)
	if _, err := dispatch.Sweep(w.t.Context(), w.store, w.now); err != nil {
		w.t.Fatal(err)
	}
	if _, err := w.worker.Round(w.t.Context()); err != nil {
		w.t.Fatal(err)
	}
}

// A clock that is set back or forward, as by a battery that died or a time
// server that came late, loses no check, repeats none, drops no dialogue that
// is not long over, and sends each text once.
func TestAClockThatIsSetBackOrForward(t *testing.T) {
	w := newWatchmaker(t)
	for i, entry := range welcome {
		w.say(entry, fmt.Sprint("w", i))
	}
	jumps := []time.Duration{-time.Hour, 2 * time.Hour, -20 * time.Minute, 90 * time.Minute, -3 * time.Second, 5 * time.Minute}
	filed, sent := 0, len(welcome)
	for lot := range 5 {
		for i, entry := range oneLot {
			id := fmt.Sprintf("l%d-%d", lot, i)
			first := w.say(entry, id)
			w.set(jumps[(lot+i)%len(jumps)])
			sent++
			if again := w.say(entry, id); !again.Duplicate || again.Reply != first.Reply {
				t.Fatalf("lot %d, %q: delivered again after the clock was set: %+v, before %+v", lot, entry, again, first)
			}
			if slipShown.MatchString(first.Reply.Text) {
				filed++
			}
		}
	}
	if checks, err := w.store.Filed(t.Context(), 0, 100); err != nil || len(checks) != 5 || filed != 5 {
		t.Errorf("%d checks are filed, %d slips were shown, want 5: %v", len(checks), filed, err)
	}
	w.set(3 * time.Hour) // past the latest that anything was due
	if len(w.handed) != sent {
		t.Errorf("%d texts went out, want %d", len(w.handed), sent)
	}
	for id, n := range w.handed {
		if n != 1 {
			t.Errorf("text %s went out %d times", id, n)
		}
	}
	if err := w.store.Verify(t.Context()); err != nil {
		t.Error(err)
	}
}

package dispatch_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"threshline/gateway/dispatch"
	"threshline/session"
)

var start = time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC)

func queued(id string) session.Outgoing {
	return session.Outgoing{
		ID: session.OutgoingID(id), To: "+33639980001", Text: "hello",
		Purpose: session.Answer, Created: start, Due: start, State: session.Queued,
	}
}

func newWorker(t *testing.T, queue dispatch.Queue, carrier dispatch.Carrier, now func() time.Time, change func(*dispatch.Config)) *dispatch.Worker {
	t.Helper()
	cfg := dispatch.Config{
		Queue: queue, Now: now,
		Outlets: []dispatch.Outlet{{Name: "valley", Carrier: carrier}},
	}
	if change != nil {
		change(&cfg)
	}
	w, err := dispatch.New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func TestAMessageWhoseOutcomeCannotBeStoredIsNotHandedOnAgain(t *testing.T) {
	shelf, carrier, clock := newShelf(), &scripted{}, &clock{now: start}
	w := newWorker(t, shelf, carrier, clock.Now, nil)
	shelf.put(queued("m"))
	shelf.put(queued("n"))
	shelf.problem = session.ErrFull
	if n, err := w.Round(t.Context()); n != 2 || err != nil {
		t.Fatalf("first round: %d claimed, %v", n, err)
	}
	// The lease has lapsed long since; the store still takes nothing.
	clock.set(start.Add(time.Hour))
	if _, err := w.Round(t.Context()); !errors.Is(err, session.ErrFull) {
		t.Fatalf("while the store is full: %v", err)
	}
	shelf.problem = nil
	if n, err := w.Round(t.Context()); n != 0 || err != nil {
		t.Fatalf("when there is room again: %d claimed, %v", n, err)
	}
	if len(carrier.calls) != 2 {
		t.Errorf("the carrier was called %d times for two messages", len(carrier.calls))
	}
	for _, id := range []session.OutgoingID{"m", "n"} {
		if state := shelf.get(id).State; state != session.HandedOn {
			t.Errorf("%s is %s", id, state)
		}
	}
}

func TestAMessageIsNotHandedOnTwiceWhenItsLeaseLapsesUnderWay(t *testing.T) {
	shelf, clock := newShelf(), &clock{now: start}
	carrier := &scripted{}
	w := newWorker(t, shelf, carrier, clock.Now, nil)
	shelf.put(queued("m"))
	tick := make(chan time.Time)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	carrier.during = func() {
		// The call takes longer than the lease; the loop looks again meanwhile.
		clock.set(clock.Now().Add(time.Hour))
		tick <- clock.Now()
		tick <- clock.Now()
		stop()
	}
	w.Run(ctx, tick)
	if len(carrier.calls) != 1 {
		t.Errorf("handed on %d times", len(carrier.calls))
	}
	if got := shelf.get("m"); got.State != session.HandedOn || got.CarrierID != "carrier-m" {
		t.Errorf("the message is %s as %q; a stopped worker must store what it has done", got.State, got.CarrierID)
	}
}

func TestAMessageHeldUpBehindOthersIsLeftToTheNextClaim(t *testing.T) {
	shelf, carrier, clock := newShelf(), &scripted{}, &clock{now: start}
	w := newWorker(t, shelf, carrier, clock.Now, nil)
	first, second := queued("first"), queued("second")
	second.Due = start.Add(time.Nanosecond)
	shelf.put(first)
	shelf.put(second)
	clock.set(start.Add(time.Second))
	carrier.during = func() { clock.set(clock.Now().Add(110 * time.Second)) }
	if _, err := w.Round(t.Context()); err != nil {
		t.Fatal(err)
	}
	carrier.during = nil
	if len(carrier.calls) != 1 || shelf.get("second").State != session.Queued {
		t.Fatalf("%d calls, second is %s: it must not be sent on a lease about to lapse", len(carrier.calls), shelf.get("second").State)
	}
	clock.set(clock.Now().Add(time.Minute))
	if _, err := w.Round(t.Context()); err != nil {
		t.Fatal(err)
	}
	if len(carrier.calls) != 2 || shelf.get("second").State != session.HandedOn {
		t.Errorf("%d calls, second is %s", len(carrier.calls), shelf.get("second").State)
	}
}

func TestAReminderIsNotSentWhileNobodyKnowsWhetherThePersonStopped(t *testing.T) {
	shelf, carrier, clock := newShelf(), &scripted{}, &clock{now: start}
	fault := errors.New("cannot look up")
	w := newWorker(t, shelf, carrier, clock.Now, func(c *dispatch.Config) {
		c.Stopped = func(context.Context, session.Phone) (bool, error) { return false, fault }
	})
	reminder := queued("r")
	reminder.Purpose = session.Reminding
	shelf.put(reminder)
	if _, err := w.Round(t.Context()); err != nil {
		t.Fatal(err)
	}
	if len(carrier.calls) != 0 || shelf.get("r").State != session.Queued {
		t.Fatalf("%d calls, r is %s", len(carrier.calls), shelf.get("r").State)
	}
	fault = nil
	clock.set(start.Add(time.Hour))
	if _, err := w.Round(t.Context()); err != nil {
		t.Fatal(err)
	}
	if shelf.get("r").State != session.HandedOn {
		t.Errorf("r is %s once it is known", shelf.get("r").State)
	}
}

func TestAWorkerNeedsItsParts(t *testing.T) {
	whole := dispatch.Config{
		Queue: newShelf(), Now: (&clock{}).Now,
		Outlets: []dispatch.Outlet{{Name: "valley", Carrier: &scripted{}}},
	}
	if _, err := dispatch.New(whole); err != nil {
		t.Fatal(err)
	}
	for name, breakIt := range map[string]func(*dispatch.Config){
		"no queue":               func(c *dispatch.Config) { c.Queue = nil },
		"no clock":               func(c *dispatch.Config) { c.Now = nil },
		"no channel":             func(c *dispatch.Config) { c.Outlets = nil },
		"a channel of no name":   func(c *dispatch.Config) { c.Outlets = []dispatch.Outlet{{Carrier: &scripted{}}} },
		"a channel with no way":  func(c *dispatch.Config) { c.Outlets = []dispatch.Outlet{{Name: "valley"}} },
		"two channels of a name": func(c *dispatch.Config) { c.Outlets = append(c.Outlets, c.Outlets[0]) },
	} {
		cfg := whole
		breakIt(&cfg)
		if _, err := dispatch.New(cfg); err == nil {
			t.Errorf("%s: a worker was made", name)
		}
	}
}

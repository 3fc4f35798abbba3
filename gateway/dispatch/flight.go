package dispatch

import (
	"context"
	"errors"
	"time"

	"threshline/session"
)

// outletOf finds the way out of a message; nil when its channel cannot send.
func (w *Worker) outletOf(o session.Outgoing) *outlet {
	if o.Channel == "" {
		return w.first
	}
	return w.outlets[o.Channel]
}

// launch decides about a claimed message and sets it flying when it may go.
func (w *Worker) launch(ctx context.Context, now, begun time.Time, o session.Outgoing) {
	// What was begun is ended and stored even when the worker is told to stop.
	ctx = context.WithoutCancel(ctx)
	if w.isOurs(o) {
		// Its lease ran out while we still had it; its outcome is about to be stored.
		return
	}
	out := w.outletOf(o)
	ahead := time.Duration(0)
	if !o.Claimed.IsZero() {
		ahead = o.Claimed.Sub(now)
	}
	at := now.Add(ahead)
	if v := decide(at, o, out, w.cfg.Quiet, w.cfg.Zone); v.state != "" {
		w.end(ctx, at, o, v)
		return
	}
	if o.Purpose.Unprompted() && w.cfg.Stopped != nil {
		stopped, err := w.cfg.Stopped(ctx, o.To)
		if err != nil {
			// Not sending is the safe choice: the lease ends and the message comes
			// again.
			w.cfg.Watcher.Failed("look up whether a person has stopped messages", err)
			return
		}
		if stopped {
			w.end(ctx, at, o, verdict{state: session.Refused, problem: "the person has stopped messages"})
			return
		}
	}
	if until, ok := out.take(now); !ok {
		v := putOff(o, until.Add(ahead), "the channel takes no more just now")
		// Many at once share a commit.
		w.flights.Go(func() { w.end(ctx, at, o, v) })
		return
	}
	o.Channel = out.Name
	w.fly(ctx, flight{o: o, outlet: out, until: now.Add(w.cfg.Lease), begun: begun, ahead: ahead})
}

// isOurs reports whether this worker has the message already, and takes over the lease
// of the new claim.
func (w *Worker) isOurs(o session.Outgoing) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	if left, ok := w.unsettled[o.ID]; ok {
		left.Lease = o.Lease
		w.unsettled[o.ID] = left
		return true
	}
	_, flying := w.flying[o.ID]
	if flying {
		w.flying[o.ID] = o.Lease
	}
	return flying
}

// fly adds a flight to its chain, and starts the chain if it is new.
func (w *Worker) fly(ctx context.Context, f flight) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.flying[f.o.ID] = f.o.Lease
	c := chain{f.outlet, f.o.To}
	waiting, running := w.chains[c]
	w.chains[c] = append(waiting, f)
	if !running {
		w.flights.Go(func() { w.runChain(ctx, c) })
	}
}

// runChain hands on a chain's messages one after the other until none is left.
func (w *Worker) runChain(ctx context.Context, c chain) {
	for {
		w.mu.Lock()
		waiting := w.chains[c]
		if len(waiting) == 0 {
			delete(w.chains, c)
			w.mu.Unlock()
			return
		}
		f := waiting[0]
		w.chains[c] = waiting[1:]
		w.mu.Unlock()

		w.send(ctx, f)

		f.outlet.done()
		w.Wake()
	}
}

// send hands one message on and stores what became of it.
func (w *Worker) send(ctx context.Context, f flight) {
	now := w.cfg.Now()
	if now.After(f.until.Add(-w.cfg.HandWithin)) || time.Since(f.begun) > w.cfg.Lease-w.cfg.HandWithin {
		// It waited too long behind others: somebody else may claim it soon.
		w.leave(f.o.ID)
		return
	}
	now = now.Add(f.ahead) // by the queue's clock messages fall due, and days begin
	o := f.o
	o.Segments = f.outlet.segments(o.Text)
	part := o.Purpose.Part()
	ok, c, err := w.reserve(ctx, f.outlet, part, now, o.Segments, !heldBack(o.Purpose))
	if err != nil {
		// Not sending is the safe choice: the lease ends and the message comes again.
		w.cfg.Watcher.Failed("take a message out of the day's money", err)
		w.leave(o.ID)
		return
	}
	if c.warning || c.stop {
		w.cfg.Watcher.Spent(f.outlet.Name, part, c.spent, f.outlet.limit(part))
	}
	if !ok {
		w.holdBack(ctx, now, o, f.outlet.budgets[part].renews(now))
		return
	}
	bounded, cancel := context.WithTimeout(ctx, w.cfg.HandWithin)
	carrierID, err := f.outlet.Carrier.Hand(bounded, o)
	cancel()
	o.Attempts++
	reserved := now
	now = w.cfg.Now().Add(f.ahead)
	if err == nil {
		f.outlet.took()
		o.CarrierID = carrierID
		w.end(ctx, now, o, verdict{state: session.HandedOn})
		return
	}
	w.end(ctx, now, o, w.afterFailure(ctx, now, reserved, o, f, err))
}

// holdBack handles a message for which the day's money is not enough: an alert
// is joined with others, other messages wait for the next day.
func (w *Worker) holdBack(ctx context.Context, now time.Time, o session.Outgoing, renews time.Time) {
	if o.Purpose != session.Alert || o.Slip == "" || w.cfg.Join == nil {
		w.end(ctx, now, o, overBudget(o, renews))
		return
	}
	if err := w.cfg.Join(ctx, o); err != nil {
		w.cfg.Watcher.Failed("join an alert with others", err)
		w.leave(o.ID)
		return
	}
	w.end(ctx, now, o, verdict{state: session.Refused, problem: "told with others in one message: the day's money for dangers is spent"})
}

// leave releases a message unsent: the next claim handles it.
func (w *Worker) leave(id session.OutgoingID) {
	w.mu.Lock()
	defer w.mu.Unlock()
	delete(w.flying, id)
}

// overBudget puts a message off to the next day's budget if it still makes
// sense then, and otherwise marks it as refused.
func overBudget(o session.Outgoing, renews time.Time) verdict {
	const why = "the day's money for such messages is spent"
	if v := putOff(o, renews, why); v.state == session.Queued {
		return v
	}
	return verdict{state: session.Refused, problem: why}
}

// afterFailure decides about a message whose attempt failed; its money was reserved
// a while before now, perhaps on the day before.
func (w *Worker) afterFailure(ctx context.Context, now, reserved time.Time, o session.Outgoing, f flight, err error) verdict {
	out := f.outlet
	problem := "no clear answer from the carrier"
	var asked time.Duration
	var refusal *Refusal
	if errors.As(err, &refusal) {
		// Surely not taken, so it costs nothing.
		w.refund(ctx, out, o.Purpose.Part(), reserved, o.Segments)
		problem, asked = refusal.Problem, refusal.After
	}
	if refusal != nil && refusal.Final {
		out.took()
		return verdict{state: session.Dead, problem: problem}
	}
	out.failed(now.Add(-f.ahead), refusal != nil && refusal.Slow, asked)
	if o.Attempts >= w.cfg.Retry.Attempts {
		return verdict{state: session.Dead, problem: problem}
	}
	return putOff(o, now.Add(w.cfg.Retry.wait(o.Attempts, w.cfg.Spread(), asked)), problem)
}

// heldBack reports whether a message may be held back when the money is spent. An
// answer that stops a lot may not, and neither may the one message an hour that joins
// alerts.
func heldBack(p session.Purpose) bool { return p != session.Safety && p != session.Alerts }

package storetest

import (
	"testing"
	"time"

	"threshline/session"
)

var receiptCases = []testCase{
	{"a receipt sets the state, and delivered is final", receiptOrders},
	{"a receipt before its message waits for it", earlyReceipt},
	{"an old receipt sets no change back", oldReceipt},
	{"a late receipt of an earlier attempt counts only when delivered", earlierAttempt},
	{"a receipt of no known kind or id is refused", badReceipt},
}

// handOn queues message i, claims it and settles it as handed on under id.
func handOn(t *testing.T, e Engine, i int, id string) {
	t.Helper()
	put(t, e, session.Writes{Outgoing: []session.Outgoing{Outgoing(i)}})
	for _, o := range claim(t, e, Begin.Add(time.Hour), 1, time.Minute) {
		o.State, o.CarrierID, o.Changed = session.HandedOn, id, Begin
		settle(t, e, o)
	}
}

func receiptOf(t *testing.T, e Engine, id string, state session.OutgoingState, at time.Time) {
	t.Helper()
	if err := e.Receipt(ctx, "valley-sms", id, state, at); err != nil {
		t.Fatalf("receipt: %v", err)
	}
}

// stateOf finds message i among the newest.
func stateOf(t *testing.T, e Engine, i int) session.Outgoing {
	t.Helper()
	list := must(e.Sent(ctx, session.Outgoing{}, 99))(t)
	for _, o := range list {
		if o.ID == Outgoing(i).ID {
			return o
		}
	}
	t.Fatalf("message %d is gone", i)
	return session.Outgoing{}
}

func receiptOrders(t *testing.T, e Engine) {
	d, f := session.Delivered, session.Failed
	for i, c := range []struct {
		come []session.OutgoingState
		want session.OutgoingState
		at   int // which receipt's time stands
	}{
		{[]session.OutgoingState{d}, d, 0},
		{[]session.OutgoingState{f}, f, 0},
		{[]session.OutgoingState{d, d}, d, 0},
		{[]session.OutgoingState{d, f}, d, 0},
		{[]session.OutgoingState{f, d}, d, 1},
		{[]session.OutgoingState{f, d, f, d}, d, 1},
	} {
		id := string(rune('a' + i))
		handOn(t, e, i, id)
		for n, state := range c.come {
			receiptOf(t, e, id, state, Begin.Add(time.Duration(n)*time.Minute))
		}
		if got := stateOf(t, e, i); got.State != c.want || !got.Changed.Equal(Begin.Add(time.Duration(c.at)*time.Minute)) {
			t.Errorf("after %v: %s at %v", c.come, got.State, got.Changed)
		}
	}
}

func earlyReceipt(t *testing.T, e Engine) {
	receiptOf(t, e, "c1", session.Delivered, Begin.Add(time.Minute))
	receiptOf(t, e, "c1", session.Failed, Begin.Add(2*time.Minute))
	receiptOf(t, e, "other", session.Failed, Begin)
	if r, ok := e.(Reopener); ok {
		e = r.Reopen(t)
	}
	handOn(t, e, 1, "c1")
	if got := stateOf(t, e, 1); got.State != session.Delivered || !got.Changed.Equal(Begin.Add(time.Minute)) {
		t.Errorf("%s at %v, want delivered after one minute", got.State, got.Changed)
	}
	handOn(t, e, 2, "c2")
	if got := stateOf(t, e, 2); got.State != session.HandedOn {
		t.Errorf("another message became %s", got.State)
	}
}

func oldReceipt(t *testing.T, e Engine) {
	receiptOf(t, e, "c1", session.Failed, Begin.Add(-time.Hour)) // before its message was sent once more
	handOn(t, e, 1, "c1")
	handOn(t, e, 2, "c2")
	receiptOf(t, e, "c2", session.Delivered, Begin.Add(-time.Hour))
	for i, want := range map[int]session.OutgoingState{1: session.Failed, 2: session.Delivered} {
		if got := stateOf(t, e, i); got.State != want || !got.Changed.Equal(Begin) {
			t.Errorf("message %d is %s at %v, want %s when it was handed on", i, got.State, got.Changed, want)
		}
	}
}

func earlierAttempt(t *testing.T, e Engine) {
	put(t, e, session.Writes{Outgoing: []session.Outgoing{Outgoing(0)}})
	o := claim(t, e, Begin, 1, time.Minute)[0]
	o.CarrierID, o.Due = "first", Begin.Add(time.Hour)
	settle(t, e, o)
	receiptOf(t, e, "first", session.Failed, Begin)
	if got := stateOf(t, e, 0); got.State != session.Queued {
		t.Errorf("a failure of an attempt given up on made it %s", got.State)
	}
	o = claim(t, e, Begin.Add(time.Hour), 1, time.Minute)[0]
	receiptOf(t, e, "first", session.Delivered, Begin)
	if got := stateOf(t, e, 0); got.State != session.Delivered {
		t.Errorf("the first attempt was delivered, the message is %s", got.State)
	}
	o.State = session.Dead
	wantErr(t, "settling what a receipt has settled", e.Settle(ctx, o), session.ErrConflict)
	if got := claim(t, e, Begin.Add(9*time.Hour), 1, time.Minute); len(got) != 0 {
		t.Errorf("a delivered message was handed out: %v", ids(got))
	}
}

func badReceipt(t *testing.T, e Engine) {
	if err := e.Receipt(ctx, "valley-sms", "", session.Delivered, Begin); err == nil {
		t.Error("a receipt without an id was taken")
	}
	if err := e.Receipt(ctx, "valley-sms", "c1", session.Dead, Begin); err == nil {
		t.Error("a receipt that says dead was taken")
	}
}

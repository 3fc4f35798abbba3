package dispatch_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"threshline/gateway/dispatch"
	"threshline/session"
)

// hanging is a carrier that takes calls and answers none.
type hanging struct{ calls, leave chan struct{} }

func (h hanging) Hand(context.Context, session.Outgoing) (string, error) {
	h.calls <- struct{}{}
	<-h.leave
	return "", errDropped
}

// counting is a carrier that tells of each message it took.
type counting chan session.OutgoingID

func (c counting) Hand(_ context.Context, o session.Outgoing) (string, error) {
	c <- o.ID
	return "c-" + string(o.ID), nil
}

// A carrier that hangs keeps its own messages, however many were due first,
// and no others: not even those for the same phones.
func TestAHangingCarrierHoldsUpNoOtherChannel(t *testing.T) {
	const stuck, fine = 500, 50
	shelf, clock := newShelf(), &clock{now: start}
	hung, quick := hanging{make(chan struct{}, stuck), make(chan struct{})}, make(counting, stuck)
	w, err := dispatch.New(dispatch.Config{
		Queue: shelf, Now: clock.Now,
		Outlets: []dispatch.Outlet{{Name: "hung", Carrier: hung}, {Name: "quick", Carrier: quick}},
	})
	if err != nil {
		t.Fatal(err)
	}
	put := func(channel string, i int, due time.Time) {
		o := queued(fmt.Sprintf("%s-%03d", channel, i))
		o.Channel, o.To, o.Due = channel, session.Phone(fmt.Sprintf("+3363998%04d", i)), due
		shelf.put(o)
	}
	for i := range stuck {
		put("hung", i, start.Add(-time.Hour))
	}
	for i := range fine {
		put("quick", i, start)
	}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		w.Run(ctx, nil)
	}()
	for range 4 { // as many as a channel hands on at once
		<-hung.calls
	}
	for range fine {
		<-quick
	}
	cancel()
	close(hung.leave)
	<-ended
	if n := len(hung.calls); n != 0 {
		t.Errorf("the hanging carrier got %d calls more than it takes at once", n)
	}
}

package dispatch_test

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"threshline/gateway/dispatch"
	"threshline/session"
)

// database is a queue with a clock of its own, by which messages fall due.
type database struct {
	*shelf
	now func() time.Time
}

func (d *database) Claim(ctx context.Context, _ time.Time, n int, lease time.Duration) ([]session.Outgoing, error) {
	claimed, err := d.shelf.Claim(ctx, d.now(), n, lease)
	for i := range claimed {
		claimed[i].Claimed = d.now()
	}
	return claimed, err
}

// SetBack goes by the queue's clock, as Claim does.
func (d *database) SetBack(ctx context.Context, _ time.Time, lease time.Duration) error {
	return d.shelf.SetBack(ctx, d.now(), lease)
}

// The clock of the queue was years ahead while the gateway's was right. What was
// claimed and put off under it goes out when it is right.
func TestAQueuesClockThatWasAheadIsNoticed(t *testing.T) {
	truth, wrong := &clock{now: start}, 4*365*24*time.Hour
	shelf, carrier := newShelf(), &scripted{answers: []error{&dispatch.Refusal{Problem: "not now"}}}
	queue := &database{shelf, func() time.Time { return truth.Now().Add(wrong) }}
	w := newWorker(t, queue, carrier, truth.Now, func(c *dispatch.Config) {
		c.QueueNow = func(context.Context) (time.Time, error) { return queue.now(), nil }
	})
	shelf.put(queued("refused"))
	if n, err := w.Round(t.Context()); n != 1 || err != nil {
		t.Fatal(n, err)
	}
	shelf.put(queued("claimed"))
	if list, err := queue.Claim(t.Context(), time.Time{}, 1, time.Minute); len(list) != 1 || err != nil { // by one that was killed
		t.Fatal(list, err)
	}
	wrong = 0
	for range 4 {
		truth.set(truth.Now().Add(time.Minute))
		if _, err := w.Round(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	for _, id := range []session.OutgoingID{"refused", "claimed"} {
		if o := shelf.get(id); o.State != session.HandedOn {
			t.Errorf("%s is %s, due at %s", id, o.State, o.Due)
		}
	}
}

// A gateway is minutes behind the clock of the queue. What falls due by that clock
// is sent then, instead of being put off to the same moment again and again: a week
// at the end of the night, an answer when the day's money begins anew, what was
// refused after its time.
func TestAGatewayBehindTheQueuesClock(t *testing.T) {
	const behind = 5 * time.Minute
	truth := &clock{now: start}
	shelf, carrier := newShelf(), &scripted{}
	night, err := dispatch.ParseQuiet("21:00-07:00")
	if err != nil {
		t.Fatal(err)
	}
	w := newWorker(t, &database{shelf, truth.Now}, carrier, func() time.Time { return truth.Now().Add(-behind) }, func(c *dispatch.Config) {
		c.Quiet, c.Outlets[0].PerSegment, c.Outlets[0].DailyLimit = night, 1, 6
	})
	round := func(what string, claimed, handed int) {
		t.Helper()
		carrier.calls = nil
		n, err := w.Round(t.Context())
		if err != nil || n != claimed || len(carrier.calls) != handed {
			t.Errorf("%s: %d claimed and %d handed on, %v, want %d and %d", what, n, len(carrier.calls), err, claimed, handed)
		}
	}
	week := queued("week")
	week.Purpose = session.Digest
	shelf.put(week)
	round("at the end of the night", 1, 1)

	carrier.answers = []error{&dispatch.Refusal{Problem: "not now"}}
	shelf.put(queued("refused"))
	round("refused", 1, 1)
	round("before its time", 0, 0)
	truth.set(start.Add(2 * time.Minute))
	round("in its time", 1, 1)

	for _, id := range []string{"second", "third", "fourth"} {
		shelf.put(queued(id))
	}
	round("what the day allows", 3, 2)
	truth.set(start.Add(17 * time.Hour)) // midnight
	round("on the next day", 1, 1)
}

// slow takes so long for each message.
type slow struct {
	long time.Duration
	mu   sync.Mutex
	took map[session.OutgoingID]int
}

func (c *slow) Hand(_ context.Context, o session.Outgoing) (string, error) {
	time.Sleep(c.long)
	c.mu.Lock()
	defer c.mu.Unlock()
	c.took[o.ID]++
	return "c-" + string(o.ID), nil
}

// A gateway's clock is set back while messages to one phone go out one by one. What
// it does not come to in the time of its claim it leaves to the other gateway.
func TestAClockThatIsSetBackSendsNothingThatAnotherHasClaimed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		shelf, carrier := newShelf(), &slow{long: 9 * time.Second, took: map[session.OutgoingID]int{}}
		queue, lease := &database{shelf, time.Now}, func(c *dispatch.Config) { c.Lease = 30 * time.Second }
		var back atomic.Int64
		one := newWorker(t, queue, carrier, func() time.Time { return time.Now().Add(-time.Duration(back.Load())) }, lease)
		other := newWorker(t, queue, carrier, time.Now, lease)
		for i := range 4 {
			o := queued(fmt.Sprint("m", i))
			o.Due = time.Now()
			shelf.put(o)
		}
		go one.Round(t.Context())
		synctest.Wait()
		back.Store(int64(5 * time.Minute))
		for range 90 {
			time.Sleep(time.Second)
			other.Round(t.Context()) //nolint:errcheck // what went out is counted
		}
		time.Sleep(time.Minute)
		synctest.Wait()
		for i := range 4 {
			if n := carrier.took[session.OutgoingID(fmt.Sprint("m", i))]; n != 1 {
				t.Errorf("message %d was handed on %d times", i, n)
			}
		}
	})
}

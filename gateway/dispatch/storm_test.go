package dispatch_test

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"threshline/gateway/dispatch"
	"threshline/session"
	"threshline/session/store/bolt"
)

const stormMessages = 10_000

// mortal is a queue of a process that dies: after so many outcomes nothing
// more is stored, while calls to the carrier are under way.
type mortal struct {
	dispatch.Queue

	mu     sync.Mutex
	left   int
	dead   bool
	undone map[session.OutgoingID]int // handed on, and never written down
	done   *int                       // handed on and written down, by all processes
}

var errKilled = errors.New("the process is gone")

func (m *mortal) Claim(ctx context.Context, now time.Time, n int, lease time.Duration) ([]session.Outgoing, error) {
	if m.isDead() {
		return nil, errKilled
	}
	return m.Queue.Claim(ctx, now, n, lease)
}

func (m *mortal) Settle(ctx context.Context, o session.Outgoing) error {
	m.mu.Lock()
	m.left--
	m.dead = m.dead || m.left < 0
	if m.dead {
		if o.State == session.HandedOn {
			m.undone[o.ID]++
		}
		m.mu.Unlock()
		return errKilled
	}
	if o.State == session.HandedOn {
		*m.done++
	}
	m.mu.Unlock()
	return m.Queue.Settle(ctx, o)
}

func (m *mortal) isDead() bool {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.dead
}

// Ten thousand messages through a carrier that fails in every way, and three
// deaths of the process: none is lost, and none is handed on twice but where
// nobody could know that it had been taken.
func TestNothingIsLostInAStorm(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	path := filepath.Join(t.TempDir(), "storm.db")
	store := openStore(t, path)
	carrier := newStormy(t, seed)
	fill(t, store)

	clock := &clock{now: start}
	undone, done := map[session.OutgoingID]int{}, 0
	for _, outcomes := range []int{2500, 2500, 2500, 1 << 30} {
		carrier.early = func(carrierID string) { deliver(t, store, carrierID, clock.Now()) }
		queue := &mortal{Queue: store, left: outcomes, undone: map[session.OutgoingID]int{}, done: &done}
		work(t, queue, carrier, clock)
		for id, n := range queue.undone {
			undone[id] += n
		}
		if err := store.Close(); err != nil {
			t.Fatal(err)
		}
		store = openStore(t, path)
	}
	sendReceipts(t, store, carrier, rand.New(rand.NewPCG(seed, 2)), clock.Now())
	checkStorm(t, store, carrier, undone)
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
}

func openStore(t *testing.T, path string) *bolt.Store {
	t.Helper()
	store, err := bolt.Open(path, bolt.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return store
}

// fill queues the messages, by exchanges as everything is.
func fill(t *testing.T, store *bolt.Store) {
	t.Helper()
	for from := 0; from < stormMessages; from += 500 {
		_, err := store.Exchange(t.Context(), session.Key{}, func(session.View) (w session.Writes, err error) {
			for i := from; i < from+500; i++ {
				w.Outgoing = append(w.Outgoing, session.Outgoing{
					ID: session.OutgoingID(fmt.Sprintf("m%05d", i)), To: session.Phone(fmt.Sprintf("+3363998%04d", i%5000)),
					Text: "Your lot is grade II.", Purpose: session.Answer, State: session.Queued, Created: start, Due: start,
				})
			}
			return w, nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}

// work runs a worker until the queue is empty or the process dies. The clock
// moves on when there is nothing to do.
func work(t *testing.T, queue *mortal, carrier *stormy, clock *clock) {
	t.Helper()
	worker, err := dispatch.New(dispatch.Config{
		Queue: queue, Now: clock.Now, Batch: 200,
		Retry:   dispatch.Retry{Attempts: 100},
		Outlets: []dispatch.Outlet{{Name: "valley", Carrier: carrier, Parallel: 48}},
	})
	if err != nil {
		t.Fatal(err)
	}
	for !queue.isDead() {
		n, err := worker.Round(t.Context())
		if err != nil && !errors.Is(err, errKilled) {
			t.Fatal(err)
		}
		switch {
		case n > 0:
		case *queue.done == stormMessages:
			return
		default:
			clock.set(clock.Now().Add(time.Second))
		}
	}
}

func deliver(t *testing.T, store *bolt.Store, carrierID string, at time.Time) {
	if err := store.Receipt(context.Background(), "valley", carrierID, session.Delivered, at); err != nil {
		t.Errorf("receipt %s: %v", carrierID, err)
	}
}

// sendReceipts delivers every receipt twice, in any order.
func sendReceipts(t *testing.T, store *bolt.Store, carrier *stormy, dice *rand.Rand, at time.Time) {
	all := append(carrier.receipts, carrier.receipts...)
	dice.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	var posts sync.WaitGroup
	for share := range 64 {
		posts.Go(func() {
			for i := share; i < len(all); i += 64 {
				deliver(t, store, all[i], at)
			}
		})
	}
	posts.Wait()
}

func checkStorm(t *testing.T, store *bolt.Store, carrier *stormy, undone map[session.OutgoingID]int) {
	t.Helper()
	counts, err := store.Counts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if want := (map[session.OutgoingState]int{session.Delivered: stormMessages}); !maps.Equal(counts, want) {
		t.Errorf("the store holds %v, want %v", counts, want)
	}
	if len(carrier.taken) != stormMessages {
		t.Errorf("the carrier took %d different messages of %d", len(carrier.taken), stormMessages)
	}
	repeats, allowed := 0, 0
	for id, times := range carrier.taken {
		repeats += times - 1
		allowed += carrier.doubtful[id] + undone[id]
		if times-1 > carrier.doubtful[id]+undone[id] {
			t.Errorf("%s was handed on %d times, though its fate was unknown only %d times", id, times, carrier.doubtful[id]+undone[id])
		}
	}
	for _, fault := range []string{"down", "dropped before", "dropped after", "error inside", "busy", "slow"} {
		if carrier.faults[fault] == 0 {
			t.Errorf("the storm had no call %q", fault)
		}
	}
	if len(undone) == 0 {
		t.Error("no call was under way when the process died")
	}
	t.Logf("%v; %d handed on again, at most %d could be", carrier.faults, repeats, allowed)
}

package main

import "sync"

// town is where the phones live: it knows where the program serves just now,
// and when all is quiet.
type town struct {
	mu      sync.Mutex
	changed *sync.Cond
	address string // empty while nothing serves
	moves   int    // counts changes of address
	phones  int
	parked  int // phones that wait for the program to come back
	left    int // phones that have finished
	acks    int // exchanges that were answered
	over    bool
	broken  bool // a phone met what it should not
}

func newTown(phones int) *town {
	t := &town{phones: phones}
	t.changed = sync.NewCond(&t.mu)
	return t
}

// move says where the program serves from now on; "" is nowhere.
func (t *town) move(address string) { t.update(func() { t.address = address; t.moves++ }) }

func (t *town) update(change func()) {
	t.mu.Lock()
	change()
	t.mu.Unlock()
	t.changed.Broadcast()
}

// find waits until the program serves somewhere.
func (t *town) find() (address string, move int) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.address == "" {
		t.parked++
		t.changed.Broadcast()
		for t.address == "" {
			t.changed.Wait()
		}
		t.parked--
	}
	return t.address, t.moves
}

// moved reports whether the program serves elsewhere, or not at all, since.
func (t *town) moved(since int) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.moves != since
}

// closing reports whether the phones are to finish what they are at.
func (t *town) closing() bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.over || t.broken
}

// await waits until a condition on the town holds, or the test has failed.
func (t *town) await(holds func() bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	for !holds() && !t.broken {
		t.changed.Wait()
	}
}

// quiet waits until nothing is under way: every phone is parked or gone.
func (t *town) quiet() { t.await(func() bool { return t.parked+t.left == t.phones }) }

// answered waits until n more exchanges are answered.
func (t *town) answered(n int) {
	t.mu.Lock()
	want := t.acks + n
	t.mu.Unlock()
	t.await(func() bool { return t.acks >= want })
}

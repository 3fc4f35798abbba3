package storetest

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"threshline/session"
)

var togetherCases = []testCase{
	{"many phones at once leave exactly what a plain model says", together},
}

// phones is how many talk together; each message is of the phone with its
// number, divided by that, left over.
const phones = 8

// ledger is the plain model: what must be there once every exchange is done.
type ledger struct {
	mu      sync.Mutex
	pages   map[session.Phone]int       // exchanges applied per dialogue
	tallies map[session.PersonID]int    // changes applied per person
	replies map[string]session.Reply    // by duplicate key
	checks  map[session.Slip]bool       // filed
	sent    map[session.OutgoingID]bool // queued
}

// together lets callers exchange at random: a few phones, shared people,
// redeliveries of anything done before, failing turns, sweeps in between.
func together(t *testing.T, e Engine) {
	const callers, each, people = 16, 40, 5
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	model := &ledger{
		pages: make(map[session.Phone]int), tallies: make(map[session.PersonID]int), replies: make(map[string]session.Reply),
		checks: make(map[session.Slip]bool), sent: make(map[session.OutgoingID]bool),
	}
	for i := range people {
		put(t, e, session.Writes{People: []session.Person{Person(i)}})
	}
	var all sync.WaitGroup
	for c := range callers {
		all.Go(func() {
			r := rand.New(rand.NewPCG(seed, uint64(c)))
			for n := range each {
				model.step(t, e, r, c*each+n, Phone(100+(c*each+n)%phones), PersonID(r.IntN(people)))
			}
		})
	}
	all.Wait()
	model.compare(t, e)
}

var errBroken = errors.New("broken turn")

// step does one exchange at random, until it is not in conflict any more.
func (m *ledger) step(t *testing.T, e Engine, r *rand.Rand, n int, phone session.Phone, id session.PersonID) {
	message := n
	if r.IntN(4) == 0 {
		message -= phones * r.IntN(n/phones+1) // of the same phone, perhaps delivered before
	}
	key := session.Key{Phone: phone, Duplicate: fmt.Sprint("message ", message), KeepUntil: Begin.Add(time.Hour)}
	broken, files, sends := r.IntN(10) == 0, r.IntN(2) == 0, r.IntN(3) == 0
	turn := func(v session.View) (session.Writes, error) {
		d, err := v.Dialogue(phone)
		if err != nil {
			return session.Writes{}, err
		}
		p, err := v.Person(id)
		if err != nil {
			return session.Writes{}, err
		}
		d.Page++
		d.Screen = "main"
		p.Short++
		w := session.Writes{Dialogue: &d, People: []session.Person{p}, Reply: session.Reply{Text: fmt.Sprint(phone[8:], " ", d.Page)}}
		if files {
			w.Checks = []session.Check{Check(n, id, id)}
		}
		if sends {
			w.Outgoing = []session.Outgoing{Outgoing(n)}
		}
		if broken {
			return w, errBroken
		}
		return w, nil
	}
	for {
		got, err := e.Exchange(ctx, key, turn)
		switch {
		case errors.Is(err, session.ErrConflict):
			continue
		case err != nil && !(broken && errors.Is(err, errBroken)):
			t.Errorf("exchange %d: %v", n, err)
			return
		case err != nil:
			return
		}
		m.note(t, key.Duplicate, got, phone, id, n, files, sends)
		return
	}
}

func (m *ledger) note(t *testing.T, key string, got session.Outcome, phone session.Phone, id session.PersonID, n int, files, sends bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	before, known := m.replies[key]
	if known && before != got.Reply {
		t.Errorf("%q was answered %q, and now %q", key, before.Text, got.Reply.Text)
	}
	m.replies[key] = got.Reply
	if got.Duplicate {
		return
	}
	m.pages[phone]++
	m.tallies[id]++
	if files {
		m.checks[Slip(n)] = true
	}
	if sends {
		m.sent[Outgoing(n).ID] = true
	}
}

func (m *ledger) compare(t *testing.T, e Engine) {
	for phone, want := range m.pages {
		if d := dialogue(t, e, phone); d.Page != want {
			t.Errorf("dialogue %v: page %d, want %d", phone, d.Page, want)
		}
	}
	for id, want := range m.tallies {
		if p := person(t, e, id); p.Short != want {
			t.Errorf("person %s was counted to %d, want %d", id, p.Short, want)
		}
	}
	filed, err := e.Filed(ctx, 0, 10000)
	if err != nil || len(filed) != len(m.checks) {
		t.Errorf("%d checks filed, %v, want %d", len(filed), err, len(m.checks))
	}
	var last uint64
	for _, k := range filed {
		if !m.checks[k.Slip] || k.Position <= last {
			t.Errorf("check %s at %d after %d", k.Slip, k.Position, last)
		}
		last = k.Position
	}
	sent, err := e.Sent(ctx, session.Outgoing{}, 10000)
	if err != nil || len(sent) != len(m.sent) {
		t.Errorf("%d messages, %v, want %d", len(sent), err, len(m.sent))
	}
}

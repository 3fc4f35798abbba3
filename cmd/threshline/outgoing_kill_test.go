package main

import (
	"context"
	"fmt"
	"maps"
	"math/rand/v2"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/bolt"
)

// outgoingMessages is how many messages go out; MESSAGES in the environment says
// another number.
var outgoingMessages = countOr("MESSAGES", 4000)

const (
	handedAtOnce = 32
	senders      = 64
)

// TestTheOutgoingQueueSurvivesKills lets thousands of people ask for help by
// SMS. Their answers go out by calls to a carrier that fails in every way,
// and the real program is killed three times at it. None is lost, and none is
// handed on twice but where nobody could know that it had been taken: the
// answer was lost, or the program died before it had written it down.
func TestTheOutgoingQueueSurvivesKills(t *testing.T) {
	t.Parallel()
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	carrier := newFaultyCarrier(t, rand.New(rand.NewPCG(seed, 1)))
	site := newSite(t, buildProgram(t), carrier.address(),
		"per_segment = 0.9", fmt.Sprintf("parallel = %d\nok = \"json:/state\"\nok_values = [\"taken\"]", handedAtOnce))
	town := newTown(senders)
	askForHelp(t, town, seed)
	undone := map[string]int{}
	for kill := range 3 {
		held := carrier.begin(outgoingMessages * (kill + 1) / 4)
		run := site.start(t)
		run.ready(t)
		town.move(run.address)
		awaitHeld(t, held)
		town.move("")
		run.kill(t)
		atKill(t, site, carrier, undone)
	}
	held := carrier.begin(outgoingMessages * 4 / 5)
	run := site.start(t)
	run.ready(t)
	town.move(run.address)
	town.await(func() bool { return town.left == senders })
	awaitHeld(t, held)
	run.kill(t)
	atKill(t, site, carrier, undone)
	carrier.begin(0)
	handOnTheRest(t, site)
	countThem(t, site, carrier, undone)
}

// awaitHeld waits until the carrier holds a call.
func awaitHeld(t *testing.T, held <-chan struct{}) {
	t.Helper()
	select {
	case <-held:
	case <-time.After(patience):
		t.Fatal("the messages do not go out")
	}
}

// askForHelp has each of the people send one text, delivered until it is taken.
func askForHelp(t *testing.T, town *town, seed uint64) {
	for sender := range senders {
		post := ownLine()
		t.Cleanup(post.CloseIdleConnections)
		go func() {
			defer town.update(func() { town.left++ })
			for i := sender; i < outgoingMessages; i += senders {
				p := &phone{number: session.Phone(fmt.Sprintf("+3363998%04d", i)), kind: session.SMS, town: town, post: post}
				if _, err := p.deliver("HELP", p.messageID(int(seed%1000))); err != nil {
					t.Errorf("person %d: %v", i, err)
					town.update(func() { town.broken = true })
					return
				}
			}
		}()
	}
}

// atKill notes which messages the carrier took and answered in this run that
// the store a killed program left does not know of: no more than can be under
// way at once.
func atKill(t *testing.T, s *site, carrier *faultyCarrier, undone map[string]int) {
	t.Helper()
	carrier.quiet()
	store := openCopy(t, s)
	defer store.Close()
	carrier.mu.Lock()
	defer carrier.mu.Unlock()
	n := 0
	for _, o := range everySent(t, store) {
		if o.State == session.Queued && carrier.answered[string(o.ID)] {
			undone[string(o.ID)]++
			n++
		}
	}
	if n > handedAtOnce {
		t.Errorf("killed, it had not written down %d messages that were taken; only %d are under way at once", n, handedAtOnce)
	}
}

// everySent lists all messages of a store.
func everySent(t *testing.T, store *bolt.Store) (all []session.Outgoing) {
	t.Helper()
	var last session.Outgoing
	for {
		page, err := store.Sent(context.Background(), last, 1000)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, page...)
		if len(page) < 1000 {
			return all
		}
		last = page[len(page)-1]
	}
}

// handOnTheRest works off what is still waiting in the store that was left.
func handOnTheRest(t *testing.T, s *site) {
	t.Helper()
	store, err := bolt.Open(s.store(), bolt.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	workOff(t, s, store)
}

// countThem holds what the carrier took against what was asked for.
func countThem(t *testing.T, s *site, carrier *faultyCarrier, undone map[string]int) {
	t.Helper()
	store := openCopy(t, s)
	defer store.Close()
	counts, err := store.Counts(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	if want := (map[session.OutgoingState]int{session.HandedOn: outgoingMessages}); !maps.Equal(counts, want) {
		t.Errorf("the store holds %v, want %v", counts, want)
	}
	phones, repeats, allowed := map[string]string{}, 0, 0
	for ref, times := range carrier.times {
		to, unknown := carrier.to[ref], carrier.doubtful[ref]+undone[ref]
		if other, twice := phones[to]; twice {
			t.Errorf("a phone was answered twice, by %s and %s", other, ref)
		}
		phones[to] = ref
		repeats, allowed = repeats+times-1, allowed+unknown
		if times-1 > unknown {
			t.Errorf("%s was handed on %d times, though its fate was unknown only %d times", ref, times, unknown)
		}
	}
	if len(phones) != outgoingMessages {
		t.Errorf("%d people of %d were answered", len(phones), outgoingMessages)
	}
	if len(carrier.wrong) > 0 {
		t.Errorf("%d calls were wrong, the first: %s", len(carrier.wrong), carrier.wrong[0])
	}
	for _, fault := range []string{"down", "dropped before", "dropped after", "error inside", "held"} {
		if carrier.faults[fault] == 0 {
			t.Errorf("no call was %q", fault)
		}
	}
	t.Logf("%v; %d handed on again, at most %d could be; %d were not written down at a kill", carrier.faults, repeats, allowed, len(undone))
}

package main

import (
	"context"
	"slices"
	"sync"
	"time"

	"threshline/grading"
	"threshline/grading/standard"
	"threshline/session"
	"threshline/session/boltstore"
	"threshline/session/ledger"
)

// feed keeps the ledger up to what the store holds.
type feed struct {
	store  *boltstore.Store
	ledger *ledger.Ledger
	known  []*grading.Standard // that checks may have been graded by

	mu     sync.Mutex
	people time.Time // when they were last read
}

const (
	// feedBatch is how many records are read at once.
	feedBatch = 2000
	// peopleEvery is how old the people's names on pages may be.
	peopleEvery = 30 * time.Second
	// feedEvery is how often the ledger is filled when nobody looks at it, so
	// that whoever looks first does not wait.
	feedEvery = 2 * time.Second
)

func newFeed(store *boltstore.Store, p *session.Programme) (*feed, error) {
	known, err := knownStandards(p.Standard)
	if err != nil {
		return nil, err
	}
	return &feed{store: store, known: known, ledger: ledger.New(ledger.Settings{Zone: p.Zone, Standards: known, Advice: p.Advice})}, nil
}

// knownStandards are the tables that earlier checks may have been graded by:
// the one in force and all that are built in.
func knownStandards(inForce *grading.Standard) ([]*grading.Standard, error) {
	builtin, err := standard.Builtin()
	if err != nil {
		return nil, err
	}
	same := func(s *grading.Standard) bool { return s.ID == inForce.ID && s.Edition == inForce.Edition }
	return append([]*grading.Standard{inForce}, slices.DeleteFunc(builtin, same)...), nil
}

// catchUp files in the ledger what the store has and the ledger has not.
func (f *feed) catchUp(ctx context.Context) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if now := time.Now(); now.Sub(f.people) > peopleEvery {
		if err := f.readPeople(ctx); err != nil {
			return err
		}
		f.people = now
	}
	for {
		checks, err := f.store.Filed(ctx, f.ledger.View().Position(), feedBatch)
		if err != nil {
			return err
		}
		f.ledger.Apply(checks...)
		if len(checks) < feedBatch {
			return nil
		}
	}
}

func (f *feed) readPeople(ctx context.Context) error {
	after := session.PersonID("")
	for {
		people, err := f.store.People(ctx, after, feedBatch)
		if err != nil {
			return err
		}
		f.ledger.People(people...)
		if len(people) < feedBatch {
			return nil
		}
		after = people[len(people)-1].ID
	}
}

// round is catchUp as one of the station's loops.
func (f *feed) round(ctx context.Context) (bool, error) { return false, f.catchUp(ctx) }

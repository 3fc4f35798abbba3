// Package mem keeps a programme in memory, for tests and trials.
//
// It behaves as every engine does, snapshots and conflicts included, and forgets
// everything when it is closed.
package mem

import (
	"context"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"

	"threshline/session"
)

// maxRuns bounds how often one exchange's turn is run.
const maxRuns = 8

// ErrMemory: what is only in memory cannot be backed up.
var ErrMemory = errors.New("mem: kept in memory only")

// Options are what may be set. The zero value is good for use.
type Options struct {
	// KeepSent is how long a message that needs nothing more is kept, counted
	// from its last change; 0 is 30 days.
	KeepSent time.Duration
	// Clock is the one that several gateways over this store share, as that of a
	// database: leases and claims go by it. Without one, claims go by the caller's.
	Clock func() time.Time
}

// Store is a store in memory. All methods may be called from any goroutine.
type Store struct {
	keep   time.Duration
	clock  func() time.Time
	shared bool // claims go by the clock

	mu              sync.Mutex
	closed          bool
	state           state
	dialogueVersion uint64                  // the last one given
	position        uint64                  // of the last change of a check
	filed           map[uint64]session.Slip // by position
	notes           []session.AuditNote     // oldest first
	outgoing        map[session.OutgoingID]sent
	queue           map[session.OutgoingID]bool // which of them wait
	carriers        map[carrierID]session.OutgoingID
	early           map[carrierID]receipt // receipts that came before their message
	works           map[string]work       // by name
	spent           map[purse]spending
	swept           time.Time // when a gateway swept last
}

// New makes an empty store.
func New(options Options) *Store {
	if options.KeepSent <= 0 {
		options.KeepSent = 30 * 24 * time.Hour
	}
	shared := options.Clock != nil
	if !shared {
		options.Clock = time.Now
	}
	return &Store{
		keep: options.KeepSent, clock: options.Clock, shared: shared, works: make(map[string]work), spent: make(map[purse]spending), state: newState(), filed: make(map[uint64]session.Slip),
		outgoing: make(map[session.OutgoingID]sent), queue: make(map[session.OutgoingID]bool), carriers: make(map[carrierID]session.OutgoingID),
		early: make(map[carrierID]receipt),
	}
}

// lock takes the store for ctx, unless it is closed. The caller unlocks s.mu.
func (s *Store) lock(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("mem: %w", err)
	}
	s.mu.Lock()
	if s.closed {
		s.mu.Unlock()
		return fmt.Errorf("mem: %w", session.ErrClosed)
	}
	return nil
}

func (s *Store) snapshot(ctx context.Context) (view, error) {
	if err := s.lock(ctx); err != nil {
		return view{}, err
	}
	defer s.mu.Unlock()
	return view{s.state.snapshot()}, nil
}

// Read runs fn on a snapshot. It returns fn's error, session.ErrClosed or a
// context's.
func (s *Store) Read(ctx context.Context, fn func(session.View) error) error {
	v, err := s.snapshot(ctx)
	if err != nil {
		return err
	}
	return fn(v)
}

// Exchange runs the turn on a snapshot and applies what it returns together
// with its reply and the duplicate key. When a record was changed meanwhile the
// turn is run again. It returns the turn's own error; session.ErrConflict after
// eight runs, with session.ErrExists in it when a new record's key was taken;
// ErrNotFound when the reminder to be fired is gone; ErrClosed. After any error
// nothing of the exchange is stored.
func (s *Store) Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error) {
	var err error
	for run := 1; run <= maxRuns; run++ {
		var v view
		if v, err = s.snapshot(ctx); err != nil {
			return session.Outcome{}, err
		}
		if d, ok := v.duplicates.Get(duplicate{key: key.Duplicate}); ok && key.Duplicate != "" {
			return session.Outcome{Reply: d.reply, Duplicate: true, Until: d.until, Runs: run - 1}, nil
		}
		read, _ := v.dialogues.Get(session.Dialogue{Phone: key.Phone})
		var w session.Writes
		if w, err = turn(v); err != nil {
			return session.Outcome{}, err
		}
		if err = validate(key, &w); err != nil {
			return session.Outcome{}, err
		}
		var outcome session.Outcome
		outcome, err = s.apply(ctx, key, read.Version, w)
		outcome.Runs = run
		if !errors.Is(err, session.ErrConflict) {
			return outcome, err
		}
	}
	return session.Outcome{}, err
}

// Backup returns ErrMemory.
func (s *Store) Backup(context.Context, io.Writer) error { return ErrMemory }

// Healthy returns nil: memory does not fail by itself.
func (s *Store) Healthy() error { return nil }

// Close drops everything. A second Close does nothing.
func (s *Store) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.closed = true
	return nil
}

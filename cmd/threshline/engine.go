package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sync/atomic"
	"time"

	"threshline/cmd/threshline/config"
	"threshline/gateway/dispatch"
	"threshline/session"
	"threshline/session/store/bolt"
	"threshline/session/store/disk"
	"threshline/session/store/journal"
	"threshline/session/store/postgres"
	"threshline/session/store/record"
)

// engine is what keeps a programme's records: a file, or a database that
// several gateways share.
type engine interface {
	Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error)
	Read(ctx context.Context, fn func(session.View) error) error

	Claim(ctx context.Context, now time.Time, n int, lease time.Duration) ([]session.Outgoing, error)
	Settle(ctx context.Context, o session.Outgoing) error
	SetBack(ctx context.Context, now time.Time, lease time.Duration) error
	Receipt(ctx context.Context, channel, carrierID string, state session.OutgoingState, at time.Time) error
	Sent(ctx context.Context, after session.Outgoing, n int) ([]session.Outgoing, error)
	Counts(ctx context.Context) (map[session.OutgoingState]int, error)
	QueueAge(ctx context.Context, now time.Time) (time.Duration, error)

	Due(ctx context.Context, now time.Time, n int) ([]session.Reminder, error)
	Filed(ctx context.Context, after uint64, n int) ([]session.Check, error)
	Newest(ctx context.Context, n int) ([]session.Check, error)
	People(ctx context.Context, after session.PersonID, n int) ([]session.Person, error)
	Notes(ctx context.Context, before uint64, n int) (notes []session.AuditNote, next uint64, err error)
	Account(ctx context.Context, id session.AccountID) (session.Account, error)
	Accounts(ctx context.Context, after session.AccountID, n int) ([]session.Account, error)

	Sweep(ctx context.Context, now time.Time, n int) (int, error)
	Verify(ctx context.Context) error
	// Backup writes a copy of all, which is a store file; BackupFile puts a
	// verified one in place.
	Backup(ctx context.Context, w io.Writer) error
	BackupFile(ctx context.Context, path string) error
	Healthy() error
	// Halted is closed when nothing more is written until it is opened anew.
	Halted() <-chan struct{}
	Close() error
}

// common is an engine that several gateways share: a database.
type common interface {
	engine
	dispatch.Purse
	// Begin takes a lease on work that one gateway does for all, and End ends it:
	// session.ErrConflict when another gateway has taken the work over.
	Begin(ctx context.Context, work string, every, within time.Duration) (session.Lease, error)
	End(ctx context.Context, l session.Lease, done bool, result []byte) error
	// Result is what the work came to when it was last done, by any gateway.
	Result(ctx context.Context, work string) ([]byte, error)
	// LastCommit is when a gateway was last at work, by a clock that it believed.
	LastCommit(ctx context.Context) (time.Time, error)
	// Now is the time by the clock that all gateways share.
	Now(ctx context.Context) (time.Time, error)
}

// database is a PostgreSQL database as an engine. Its backups are store files
// too.
type database struct{ *postgres.Store }

// Backup implements engine. The file is made whole before anything is written.
func (d database) Backup(ctx context.Context, w io.Writer) error {
	dir, err := os.MkdirTemp("", "threshline-backup-")
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "backup.db")
	if err := d.BackupFile(ctx, path); err != nil {
		return err
	}
	file, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	defer file.Close()
	if _, err := io.Copy(w, file); err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	return nil
}

// BackupFile implements engine.
func (d database) BackupFile(ctx context.Context, path string) error {
	all := func(yield func(record.Thing) error) error { return d.Export(ctx, yield) }
	return bolt.Import(ctx, path, all, bolt.Options{}, true)
}

// openEngine opens what the configuration says; path is where a file lies. woken
// is a gateway's, and nil for everything else: beside a database only gateways
// keep a journal, and it follows whatever others write.
func openEngine(c *config.Config, ctx context.Context, path string, woken func()) (engine, error) {
	if c.Store.Engine != config.DatabaseEngine {
		return bolt.Open(path, storeOptions(c))
	}
	url, err := c.DatabaseURL()
	if err != nil {
		return nil, err
	}
	options := databaseOptions(c)
	if options.Woken = woken; woken != nil {
		options.Journal = c.Beside(c.Store.Journal)
	}
	store, err := postgres.Open(ctx, url, options)
	if err != nil {
		return nil, databaseFault(err)
	}
	return database{store}, nil
}

// databaseFault says what to do about a database that cannot be opened.
func databaseFault(err error) error {
	switch {
	case errors.Is(err, disk.ErrLocked):
		return &fault{err, "another gateway writes this journal: each needs its own"}
	case errors.Is(err, journal.ErrAhead):
		return &fault{err, "the database lacks what the journal holds: restore it with --from-journal, or move the journal away to go on without"}
	case errors.Is(err, postgres.ErrJournal), errors.Is(err, journal.ErrForeign):
		return &fault{err, "if the database was lost, restore it with --from-journal; else choose another file for the journal"}
	case errors.Is(err, postgres.ErrNewer):
		return &fault{err, "run the newer program again, or restore a backup made by this one"}
	case errors.Is(err, session.ErrAway):
		return &fault{err, "is the database running, and does the address in [store] url lead to it?"}
	case errors.Is(err, session.ErrBusy):
		return &fault{err, "stop the gateways first (one whose machine is gone counts for two minutes); a database that lacks connections needs a larger max_connections"}
	}
	return err
}

func databaseOptions(c *config.Config) postgres.Options {
	s := c.Store
	return postgres.Options{
		Schema: s.Schema, Connections: s.Connections,
		Statement: time.Duration(s.Statement), Lock: time.Duration(s.Lock), Idle: time.Duration(s.Idle),
	}
}

// once does work that one gateway does for all from time to time; with a store
// of its own, a gateway does it at once. The work gets a function that ends it:
// its result counts only if no other gateway took the work over meanwhile.
func (s *station) once(ctx context.Context, work string, every, within time.Duration, do func(finish func() error) error) error {
	d, shared := s.store.(common)
	if !shared {
		return do(func() error { return nil })
	}
	lease, err := d.Begin(ctx, work, every, within)
	if err != nil || !lease.Held() {
		return err
	}
	ended := false
	err = do(func() error {
		ended = true
		return d.End(ctx, lease, true, nil)
	})
	if !ended {
		err = errors.Join(err, d.End(context.WithoutCancel(ctx), lease, false, nil))
	}
	return err
}

// company is what a gateway knows of the others over the same database. It is
// kept through a reload.
type company struct {
	filed  chan time.Time // somebody filed checks
	caught atomic.Bool    // the ledger has read once what was there at the start
}

func newCompany() *company { return &company{filed: make(chan time.Time, 1)} }

// heard is called when another gateway has filed checks.
func (c *company) heard() {
	select {
	case c.filed <- time.Now():
	default:
	}
}

// errBehind: this gateway's view of the others' checks is out of date.
var errBehind = errors.New("the ledger has not caught up with the database yet")

// ready reports whether carriers and people may come: the store takes writes,
// and over a shared database the ledger has caught up once.
func (s *station) ready(context.Context) error {
	if err := s.store.Healthy(); err != nil {
		return err
	}
	if _, shared := s.store.(common); shared && !s.company.caught.Load() {
		if !s.feed.Filled.Load() {
			return errBehind
		}
		s.company.caught.Store(true)
	}
	return nil
}

// queueNow tells the time by the clock that gateways share; nil for a single gateway.
func (s *station) queueNow() func(context.Context) (time.Time, error) {
	if d, shared := s.store.(common); shared {
		return d.Now
	}
	return nil
}

// purse is the day's money that gateways share; nil for a single gateway.
func (s *station) purse() dispatch.Purse {
	if d, shared := s.store.(common); shared {
		return d
	}
	return nil
}

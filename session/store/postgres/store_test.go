package postgres_test

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"threshline/session"
	"threshline/session/store/postgres"
	"threshline/session/store/postgres/cluster"
	"threshline/session/store/storetest"
)

// shared is one server for all tests that do no harm to it.
var shared struct {
	once   sync.Once
	server *cluster.Server
	end    func()
	schema atomic.Int64
	whole  sync.Once     // makes the database that copies are made of
	copier *pgxpool.Pool // makes the copies
}

func TestMain(m *testing.M) {
	os.Exit(cluster.Run(func() int {
		code := m.Run()
		if shared.end != nil {
			shared.end()
		}
		return code
	}))
}

// process is a test that lasts as long as the process.
type process struct {
	testing.TB
	cleanups []func()
}

func (p *process) Cleanup(f func()) { p.cleanups = append(p.cleanups, f) }

// server is the shared one.
func server(t testing.TB) *cluster.Server {
	t.Helper()
	shared.once.Do(func() {
		p := &process{TB: t}
		shared.end = func() {
			for _, f := range p.cleanups {
				f()
			}
		}
		// What must outlast a crash is tried with servers of its own.
		shared.server = cluster.Start(p, "fsync="+fsync(), "max_connections=300", "shared_buffers=128MB")
	})
	if shared.server == nil {
		if os.Getenv("CI") != "" {
			t.Fatal("no PostgreSQL server on this machine")
		}
		t.Skip("no PostgreSQL server on this machine")
	}
	return shared.server
}

// fresh is an address and a schema that nobody has used.
func fresh(t testing.TB) (url string, options postgres.Options) {
	t.Helper()
	return server(t).URL("postgres"), postgres.Options{
		Schema: fmt.Sprintf("t%d", shared.schema.Add(1)), KeepSent: storetest.KeepSent, CallersClock: true,
	}
}

// copied is the address of a database of its own, with the tables of every step in
// a schema that nobody has used: a copy costs a third of the steps.
func copied(t testing.TB) (url string, options postgres.Options) {
	t.Helper()
	const whole = "whole"
	s := server(t)
	_, options = fresh(t)
	name := options.Schema
	options.Schema = ""
	shared.whole.Do(func() {
		s.Run(t, "postgres", "create database "+whole)
		if err := open(t, s.URL(whole), options).Close(); err != nil {
			t.Fatal(err)
		}
		var err error
		if shared.copier, err = pgxpool.New(context.Background(), s.URL("postgres")); err != nil {
			t.Fatal(err)
		}
	})
	if _, err := shared.copier.Exec(t.Context(), "create database "+name+" template "+whole); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if _, err := shared.copier.Exec(context.Background(), "drop database "+name+" with (force)"); err != nil {
			t.Errorf("the copy: %v", err)
		}
	})
	return s.URL(name), options
}

// fsync is on where speed is measured.
func fsync() string {
	if flag.Lookup("test.bench").Value.String() != "" {
		return "on"
	}
	return "off"
}

func open(t testing.TB, url string, o postgres.Options) *postgres.Store {
	t.Helper()
	s, err := postgres.Open(context.Background(), url, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	return s
}

// opened is a store that can be reopened, for the suite.
type opened struct {
	*postgres.Store
	url     string
	options postgres.Options
}

func (o opened) Reopen(t *testing.T) storetest.Reopener {
	t.Helper()
	if err := o.Close(); err != nil {
		t.Fatal(err)
	}
	return opened{open(t, o.url, o.options), o.url, o.options}
}

func TestStore(t *testing.T) {
	t.Parallel()
	storetest.Run(t, func(t *testing.T) storetest.Engine {
		url, options := copied(t)
		return opened{open(t, url, options), url, options}
	})
}

func TestStoreOfTwoGateways(t *testing.T) {
	t.Parallel()
	storetest.Run(t, func(t *testing.T) storetest.Engine {
		url, options := copied(t)
		return &pair{opened{open(t, url, options), url, options}, open(t, url, options), new(atomic.Int64)}
	})
}

func TestWhatGatewaysShare(t *testing.T) {
	storetest.RunShared(t, func(t *testing.T) (a, b storetest.Shared) {
		url, options := fresh(t)
		return open(t, url, options), open(t, url, options)
	})
}

// pair is two engines over one database, which are asked in turns.
type pair struct {
	opened // the one for what only one can be asked
	other  *postgres.Store
	asked  *atomic.Int64
}

func (p *pair) next() *postgres.Store {
	if p.asked.Add(1)%2 == 0 {
		return p.other
	}
	return p.Store
}

func (p *pair) Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error) {
	return p.next().Exchange(ctx, key, turn)
}

func (p *pair) Read(ctx context.Context, fn func(session.View) error) error {
	return p.next().Read(ctx, fn)
}

func (p *pair) Claim(ctx context.Context, now time.Time, n int, lease time.Duration) ([]session.Outgoing, error) {
	return p.next().Claim(ctx, now, n, lease)
}

func (p *pair) Settle(ctx context.Context, o session.Outgoing) error { return p.next().Settle(ctx, o) }

func (p *pair) Receipt(ctx context.Context, channel, carrierID string, state session.OutgoingState, at time.Time) error {
	return p.next().Receipt(ctx, channel, carrierID, state, at)
}

func (p *pair) Filed(ctx context.Context, after uint64, n int) ([]session.Check, error) {
	return p.next().Filed(ctx, after, n)
}

func (p *pair) Due(ctx context.Context, now time.Time, n int) ([]session.Reminder, error) {
	return p.next().Due(ctx, now, n)
}

func (p *pair) Sweep(ctx context.Context, now time.Time, n int) (int, error) {
	return p.next().Sweep(ctx, now, n)
}

func (p *pair) Close() error { return errors.Join(p.other.Close(), p.Store.Close()) }

func (p *pair) Reopen(t *testing.T) storetest.Reopener {
	t.Helper()
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	return &pair{opened{open(t, p.url, p.options), p.url, p.options}, open(t, p.url, p.options), p.asked}
}

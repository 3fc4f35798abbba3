package postgres

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"threshline/session"
	"threshline/session/store/record"
)

// Store is an open database. All methods may be called from any goroutine.
type Store struct {
	pool    *pgxpool.Pool
	options Options
	hasher  *record.Hasher

	gate    sync.RWMutex // held for reading while something is put in a queue
	closed  bool         // under gate
	lookups *line[*lookup]
	jobs    *line[*job]
	at      sync.WaitGroup     // exchanges under way
	stop    context.CancelFunc // of what runs beside them
	beside  sync.WaitGroup
	ill     atomic.Pointer[error]
	over    atomic.Pointer[error] // why nothing more is written
	halted  chan struct{}         // closed then
	commits atomic.Int64          // transactions that wrote exchanges
	rounds  atomic.Int64          // round trips that were made for exchanges
	put     atomic.Int64          // bytes that exchanges put
	late    atomic.Int64          // questions of turns that took a round trip of their own
	carried atomic.Int64          // connections that wait with an exchange for a writer
	journal *keeper               // nil when none is kept
	recent  recent                // phones that were served lately
}

// readTrips and writeTrips bound how many groups of exchanges are being read and
// written at once. A second group is written only when the first takes long, for a
// lock or a slow disk: two that sync in turns take longer than one that is larger.
// Measured.
const (
	readTrips  = 2
	writeTrips = 2
	writeAlone = 50 * time.Millisecond
)

// connectWithin bounds how long a connection may take to come about, where the
// address does not say it.
const connectWithin = 3 * time.Second

// Open connects to the database at a postgres: URL, which may name several
// hosts: the one that takes writes is used. It brings the tables up to date.
// It returns ErrNewer when a later version has been at them, session.ErrBusy when
// an earlier one still has them open, session.ErrAway while no database answers, and
// ErrJournal or disk.ErrLocked of a journal.
func Open(ctx context.Context, url string, options Options) (*Store, error) {
	options = options.withDefaults()
	cfg, err := configure(url, options)
	if err != nil {
		return nil, err
	}
	secret, err := prepareSchema(ctx, cfg.ConnConfig, options.Schema)
	if err != nil {
		return nil, err
	}
	beside, stop := context.WithCancel(context.Background())
	s := &Store{options: options, hasher: record.NewHasher(secret), stop: stop, halted: make(chan struct{})}
	ready := cfg.AfterConnect
	cfg.AfterConnect = func(ctx context.Context, conn *pgx.Conn) error {
		s.recent.clear() // it may be another server, which lacks what the one before said
		return ready(ctx, conn)
	}
	pool, err := pgxpool.NewWithConfig(ctx, cfg)
	if err != nil {
		stop()
		return nil, fault(ctx, "open", err)
	}
	s.pool = pool
	s.lookups, s.jobs = newLine(options.Waiting, readTrips, 0, s.readGroup), newLine(options.Waiting, writeTrips, writeAlone, s.writeGroup)
	present, err := s.presence(ctx)
	if err == nil {
		if err = stillKnown(ctx, present); err != nil {
			present.Close(context.WithoutCancel(ctx))
		}
	}
	if err != nil {
		stop()
		pool.Close()
		return nil, err
	}
	if options.Journal != "" {
		if s.journal, err = s.openJournal(ctx, options.Journal); err != nil {
			stop()
			present.Close(context.WithoutCancel(ctx))
			pool.Close()
			return nil, err
		}
	}
	s.beside.Go(func() { s.watch(beside) })
	s.beside.Go(func() { s.stay(beside, present) })
	return s, nil
}

// configure makes the pool's configuration from an address.
func configure(url string, o Options) (*pgxpool.Config, error) {
	cfg, err := pgxpool.ParseConfig(url)
	if err != nil {
		// The library's own words would repeat the address, and with it a password.
		return nil, errors.New("postgres: the address of the database cannot be read")
	}
	cfg.MaxConns = int32(o.Connections)
	cfg.PingTimeout = time.Second
	cfg.MaxConnLifetime = time.Hour
	if cfg.ConnConfig.ConnectTimeout <= 0 {
		cfg.ConnConfig.ConnectTimeout = connectWithin
	}
	params := cfg.ConnConfig.RuntimeParams
	for name, value := range map[string]string{
		"search_path":                         pgx.Identifier{o.Schema}.Sanitize(),
		"synchronous_commit":                  "on",
		"statement_timeout":                   milliseconds(o.Statement),
		"lock_timeout":                        milliseconds(o.Lock),
		"idle_in_transaction_session_timeout": milliseconds(o.Idle),
		"application_name":                    "threshline",
		// A machine that is gone lets go of its locks after two minutes.
		"tcp_keepalives_idle": "60", "tcp_keepalives_interval": "10", "tcp_keepalives_count": "6",
		// Every query of ours is a look-up by key. A plan that was made while the
		// tables were empty must not read them whole when they are large.
		"enable_seqscan": "off", "enable_hashjoin": "off", "enable_mergejoin": "off", "jit": "off", "plan_cache_mode": "force_generic_plan",
	} {
		if params[name] == "" {
			params[name] = value
		}
	}
	// What is checked before a write is what others have committed by then.
	params["default_transaction_isolation"] = "read committed"
	// A connection's first exchange makes no more round trips than the next.
	cfg.AfterConnect = func(ctx context.Context, conn *pgx.Conn) error {
		for _, sql := range []string{beginSnapshot, lookSQL, asksSQL, forgottenSQL, "commit", writeSQL} {
			if _, err := conn.Prepare(ctx, sql, sql); err != nil {
				return err
			}
		}
		return nil
	}
	// Of several hosts the one that takes writes: after a fail-over, the other.
	if len(cfg.ConnConfig.Fallbacks) > 0 && cfg.ConnConfig.ValidateConnect == nil {
		cfg.ConnConfig.ValidateConnect = readWrite
	}
	return cfg, nil
}

func milliseconds(d time.Duration) string { return strconv.FormatInt(d.Milliseconds(), 10) }

// holder names this process.
func holder() string {
	name, err := os.Hostname()
	if err != nil {
		name = "unnamed"
	}
	return fmt.Sprintf("%s %d", name, os.Getpid())
}

// Close takes no more work, finishes the work it has, and closes the
// connections to the database. A second Close does nothing.
func (s *Store) Close() error {
	s.gate.Lock()
	if s.closed {
		s.gate.Unlock()
		return nil
	}
	s.closed = true
	s.gate.Unlock()
	s.stop()
	s.at.Wait()
	s.beside.Wait()
	s.pool.Close()
	return s.journal.close()
}

// aside does something off the caller's path, and reports whether it is done so:
// a store that closes waits for what was begun and begins nothing more.
func (s *Store) aside(work func()) bool {
	s.gate.RLock()
	defer s.gate.RUnlock()
	if !s.closed {
		s.beside.Go(work)
	}
	return !s.closed
}

// open reports whether work is taken, for calls that go to the pool themselves.
func (s *Store) open(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("postgres: %w", err)
	}
	s.gate.RLock()
	defer s.gate.RUnlock()
	if s.closed {
		return fmt.Errorf("postgres: %w", session.ErrClosed)
	}
	return nil
}

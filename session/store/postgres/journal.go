package postgres

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"sync"
	"sync/atomic"

	"github.com/jackc/pgx/v5"

	"threshline/session"
	"threshline/session/store/disk"
	"threshline/session/store/journal"
)

// ErrJournal: the journal and the database do not belong together, or the
// journal holds more than the database.
var ErrJournal = errors.New("journal does not match the database")

// keeper keeps a gateway's journal: all checks and people of the database, as
// they were committed, whichever gateway did so. What this gateway answers is in
// it before the answer; what others commit follows within a second.
type keeper struct {
	store *Store
	ill   atomic.Pointer[error]
	asked atomic.Int64 // counts who asked for the journal to catch up

	mu             sync.Mutex
	file           *journal.Journal
	locked         *os.File
	found          journal.State
	checks, people int64 // the positions up to which it holds all
	tried          int64 // who asked up to here was served by the last try
	err            error // of that try
}

// openJournal opens the store's journal, and makes it when there is none.
func (s *Store) openJournal(ctx context.Context, path string) (k *keeper, err error) {
	k = &keeper{store: s}
	if k.locked, err = disk.Lock(path + ".lock"); err != nil {
		return nil, fmt.Errorf("postgres: %q: %w", path, err)
	}
	if err = k.open(ctx, path); err != nil {
		return nil, errors.Join(err, k.locked.Close())
	}
	return k, nil
}

func (k *keeper) open(ctx context.Context, path string) error {
	id, err := k.store.journalID(ctx, path)
	if err != nil {
		return err
	}
	tx, err := k.store.pool.BeginTx(ctx, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly})
	if err != nil {
		return fault(ctx, "open the journal", err)
	}
	defer tx.Rollback(context.WithoutCancel(ctx)) //nolint:errcheck // it only reads
	held, err := readJournalled(ctx, tx)
	if err != nil {
		return fault(ctx, "open the journal", err)
	}
	k.file, err = journal.Open(path, id, held)
	if errors.Is(err, journal.ErrForeign) || errors.Is(err, journal.ErrOther) || errors.Is(err, journal.ErrAhead) {
		return fmt.Errorf("postgres: %q: %w: %w", path, ErrJournal, err)
	}
	k.checks, k.people, k.found = int64(held.last), held.people, k.file.State()
	return err
}

// journalID is the id that all gateways' journals of the database have. A file
// that is there already is another store's, or the database was made anew.
func (s *Store) journalID(ctx context.Context, path string) (id []byte, err error) {
	if err := s.pool.QueryRow(ctx, "select journal from about").Scan(&id); err != nil || id != nil {
		return id, fault(ctx, "open the journal", err)
	}
	if info, err := os.Stat(path); err == nil && info.Size() > 0 {
		return nil, fmt.Errorf("postgres: %q: %w: the database knows of no journal", path, ErrJournal)
	}
	err = s.pool.QueryRow(ctx, "update about set journal = coalesce(journal, $1) returning journal", journal.NewID()).Scan(&id)
	return id, fault(ctx, "open the journal", err)
}

// committedSQL reads on what was committed, in order, and the last position
// that a check has.
const committedSQL = `(select 'p', position, version, value from people where position > $1 order by position limit $3)
	union all (select 'k', position, version, value from checks where position > $2 order by position limit $3)
	union all select 'l', coalesce(max(position), 0), 0, null from checks`

// followRows is how many records of a kind are read at once.
const followRows = 2000

// catchUp returns when the journal holds all that was committed before it was
// called. Whoever calls at once is served by one try.
func (k *keeper) catchUp() error {
	if k == nil {
		return nil
	}
	ticket := k.asked.Add(1)
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.tried >= ticket {
		return k.err
	}
	upTo := k.asked.Load()
	ctx, cancel := context.WithTimeout(context.Background(), k.store.options.Answer)
	defer cancel()
	err := k.follow(ctx)
	k.tried, k.err = upTo, err
	k.ill.Store(nil)
	if err != nil {
		k.ill.Store(&err)
	}
	return err
}

// follow writes what the journal lacks, with the mutex held.
func (k *keeper) follow(ctx context.Context) error {
	select {
	case <-k.store.halted:
		return *k.store.over.Load()
	default:
	}
	if err := k.file.CatchUp(); err != nil {
		return k.failed(err)
	}
	for {
		var b journal.Batch
		checks, people, last, rows := k.checks, k.people, int64(0), 0
		err := k.store.query(ctx, "follow for the journal", committedSQL, []any{k.people, k.checks, followRows}, func(r pgx.Rows) error {
			var kind string
			var position, version int64
			var value []byte
			if err := r.Scan(&kind, &position, &version, &value); err != nil {
				return err
			}
			rows++
			switch {
			case kind == "p" && position > people: // else the query was begun anew
				people = position
				return addPerson(&b, version, value)
			case kind == "k" && position > checks:
				checks = position
				b.AddCheck(number(position), versionedBytes(version, value))
			case kind == "l":
				last = position
			}
			return nil
		})
		switch {
		case err != nil:
			return err
		case last < k.checks:
			return k.failed(fmt.Errorf("%w: %w", ErrJournal, journal.ErrAhead))
		}
		k.checks, k.people = checks, people // what cannot be written now is left over in the journal
		if err := k.file.Keep(&b); err != nil {
			return k.failed(err)
		}
		if rows <= followRows {
			return nil
		}
	}
}

// failed sorts an error of the journal's disk. A full one gets room again;
// after another nothing more is written until the gateway is started anew.
func (k *keeper) failed(err error) error {
	if disk.NoRoom(err) {
		return fmt.Errorf("postgres: journal: %w: %w", session.ErrFull, err)
	}
	err = fmt.Errorf("postgres: journal: %w: %w", session.ErrHalted, err)
	k.store.halt(err)
	return err
}

// healthy returns what the last try met; nil when the journal holds all.
func (k *keeper) healthy() error {
	if k != nil {
		if err := k.ill.Load(); err != nil {
			return *err
		}
	}
	return nil
}

func (k *keeper) close() error {
	if k == nil {
		return nil
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	return errors.Join(k.file.Close(), k.locked.Close())
}

// Journal says what Open found of the journal.
func (s *Store) Journal() journal.State {
	if s.journal == nil {
		return journal.State{}
	}
	return s.journal.found
}

// kept gives an exchange's outcome when the journal holds what it wrote.
func (s *Store) kept(o session.Outcome) (session.Outcome, error) {
	if err := s.journal.catchUp(); err != nil {
		return session.Outcome{}, err
	}
	return o, nil
}

// recorded reports whether an exchange writes what a journal keeps.
func (x *exchange) recorded() bool { return len(x.writes.Checks)+len(x.writes.People) > 0 }

func number(n int64) []byte { return binary.BigEndian.AppendUint64(nil, uint64(n)) }

// versionedBytes is a record behind its version, as package journal has it.
func versionedBytes(version int64, value []byte) []byte { return append(number(version), value...) }

func addPerson(b *journal.Batch, version int64, value []byte) error {
	whole := versionedBytes(version, value)
	p, err := journal.PersonOf(whole)
	if err == nil {
		b.AddPerson(p.ID, p.Forgotten, whole)
	}
	return err
}

// journalled is the database as a journal is held against it.
type journalled struct {
	ctx      context.Context
	tx       pgx.Tx
	last     uint64
	people   int64 // the last position of a person
	versions map[session.PersonID]uint64
}

func readJournalled(ctx context.Context, tx pgx.Tx) (*journalled, error) {
	s := &journalled{ctx: ctx, tx: tx, versions: make(map[session.PersonID]uint64)}
	if _, err := tx.Exec(ctx, "set local statement_timeout = 0; set local idle_in_transaction_session_timeout = 0; set local enable_seqscan = on", pgx.QueryExecModeSimpleProtocol); err != nil {
		return nil, err
	}
	err := tx.QueryRow(ctx, "select coalesce((select max(position) from checks), 0), coalesce((select max(position) from people), 0)").Scan(&s.last, &s.people)
	if err != nil {
		return nil, err
	}
	return s, each(ctx, tx, "select id, version from people", nil, func(r pgx.Rows) error {
		var id string
		var version int64
		err := r.Scan(&id, &version)
		s.versions[session.PersonID(id)] = uint64(version)
		return err
	})
}

// Last implements journal.Store.
func (s *journalled) Last() uint64 { return s.last }

// Version implements journal.Store.
func (s *journalled) Version(id session.PersonID) uint64 { return s.versions[id] }

// People implements journal.Store.
func (s *journalled) People(fn func(id session.PersonID, value []byte) error) error {
	return s.records("select version, value, id, 0::bigint from people", nil, func(id string, _ int64, whole []byte) error {
		return fn(session.PersonID(id), whole)
	})
}

// Checks implements journal.Store.
func (s *journalled) Checks(after uint64, fn func(position, value []byte) error) error {
	sql := "select version, value, slip, position from checks where position > $1 order by position"
	return s.records(sql, []any{int64(after)}, func(_ string, position int64, whole []byte) error { return fn(number(position), whole) })
}

func (s *journalled) records(sql string, args []any, fn func(id string, position int64, whole []byte) error) error {
	return each(s.ctx, s.tx, sql, args, func(r pgx.Rows) error {
		var version, position int64
		var value []byte
		var id string
		if err := r.Scan(&version, &value, &id, &position); err != nil {
			return err
		}
		return fn(id, position, versionedBytes(version, value))
	})
}

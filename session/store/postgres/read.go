package postgres

import (
	"context"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"threshline/session"
)

// groupSize bounds how many exchanges one statement carries.
const groupSize = 200

// lookup is what an exchange reads first: the phone's dialogue and person, and
// the reply to an earlier delivery of the message.
type lookup struct {
	ctx   context.Context
	phone session.Phone
	key   []byte     // as the answer lies under it; nil when there is none
	done  chan error // holds one

	snapshot                        *snapshot
	dialogueVersion, personVersion  int64
	dialogue, person, reply         []byte // nil when there is none
	hasDialogue, hasPerson, answers bool
	until                           time.Time // of the reply
}

// snapshot is a transaction that only reads, shared by the turns of a group. It
// ends with the last of them.
type snapshot struct {
	store *Store
	conn  *pgxpool.Conn
	mu    sync.Mutex // one query at a time
	turns atomic.Int32
}

const beginSnapshot = "begin isolation level repeatable read, read only"

// lookSQL finds for each phone and key what a turn asks first. A lateral
// subquery each has the database look up by key, whatever it knows of the tables.
const lookSQL = `select d.version, d.value, p.version, p.value, u.reply, u.until
	from unnest($1::text[], $2::bytea[]) with ordinality as t (phone, key, number)
	left join lateral (select version, value from dialogues where phone = t.phone and t.phone <> '' limit 1) d on true
	left join lateral (select version, value from people where phone = t.phone limit 1) p on true
	left join lateral (select reply, until from duplicates where key = t.key limit 1) u on true
	order by t.number`

// look reads what an exchange asks first, together with others that wait. The
// caller lets the snapshot go.
func (s *Store) look(ctx context.Context, l *lookup) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("postgres: %w", err)
	}
	l.ctx, l.done = ctx, make(chan error, 1)
	s.gate.RLock()
	if s.closed {
		s.gate.RUnlock()
		return fmt.Errorf("postgres: %w", session.ErrClosed)
	}
	select {
	case s.lookups <- l:
		s.gate.RUnlock()
	default:
		s.gate.RUnlock()
		return fmt.Errorf("postgres: %w: %d exchanges wait", session.ErrBusy, cap(s.lookups))
	}
	return <-l.done
}

// readAll is one of the readers. It ends when the queue is closed and empty.
func (s *Store) readAll() {
	group := make([]*lookup, 0, groupSize)
	for first := range s.lookups {
		runtime.Gosched() // whoever is about to ask does so first
		group = gather(append(group[:0], first), s.lookups)
		s.readGroup(group)
		clear(group)
	}
}

// gather adds whatever waits, without waiting itself.
func gather[T any](group []T, queue <-chan T) []T {
	for len(group) < groupSize {
		select {
		case one, open := <-queue:
			if !open {
				return group
			}
			group = append(group, one)
		default:
			return group
		}
	}
	return group
}

// readGroup answers a group. A connection that turns out to be gone is
// replaced: to read again does no harm.
func (s *Store) readGroup(group []*lookup) {
	var err error
	for range s.options.Connections + 1 {
		ctx, cancel := context.WithTimeout(context.Background(), s.options.Answer)
		err = s.tryGroup(ctx, group)
		cancel()
		if err == nil || !lost(err) || ctx.Err() != nil {
			break
		}
	}
	if err != nil {
		err = fault(context.Background(), "read", err)
		s.report(err)
		for _, l := range group {
			l.done <- err
		}
	}
}

// tryGroup reads for a group in one round trip and tells it, or returns the error.
func (s *Store) tryGroup(ctx context.Context, group []*lookup) error {
	conn, err := s.pool.Acquire(ctx)
	if err != nil {
		return err
	}
	phones, keys := make([]string, len(group)), make([][]byte, len(group))
	for i, l := range group {
		phones[i], keys[i] = string(l.phone), l.key
	}
	var batch pgx.Batch
	batch.Queue(beginSnapshot)
	batch.Queue(lookSQL, phones, keys)
	s.rounds.Add(1)
	results := conn.SendBatch(ctx, &batch)
	_, err = results.Exec()
	if err == nil {
		err = scanGroup(results, group)
	}
	if closed := results.Close(); err == nil {
		err = closed
	}
	if err != nil {
		conn.Release() // the pool drops a connection that is in a transaction
		return err
	}
	shared := &snapshot{store: s, conn: conn}
	shared.turns.Store(int32(len(group)))
	for _, l := range group {
		l.snapshot = shared
		l.done <- nil
	}
	return nil
}

func scanGroup(results pgx.BatchResults, group []*lookup) error {
	rows, err := results.Query()
	if err != nil {
		return err
	}
	defer rows.Close()
	for i := 0; rows.Next(); i++ {
		if i == len(group) {
			break
		}
		l := group[i]
		var dialogue, person, until *int64
		if err := rows.Scan(&dialogue, &l.dialogue, &person, &l.person, &l.reply, &until); err != nil {
			return err
		}
		l.hasDialogue, l.hasPerson, l.answers = dialogue != nil, person != nil, l.reply != nil
		if l.answers {
			l.until = moment(*until)
		}
		if l.hasDialogue {
			l.dialogueVersion = *dialogue
		}
		if l.hasPerson {
			l.personVersion = *person
		}
	}
	return rows.Err()
}

// release ends the snapshot with its last turn. Nobody waits for that.
func (p *snapshot) release() {
	if p.turns.Add(-1) > 0 {
		return
	}
	end := func() {
		ctx, cancel := context.WithTimeout(context.Background(), p.store.options.Answer)
		defer cancel()
		_, _ = p.conn.Conn().PgConn().Exec(ctx, "commit").ReadAll() // a connection that fails here is dropped
		p.conn.Release()
	}
	if !p.store.aside(end) {
		end()
	}
}

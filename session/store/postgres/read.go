package postgres

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"threshline/session"
)

// lookup is what an exchange reads first: the phone's dialogue and person, and
// the reply to an earlier delivery of the message.
type lookup struct {
	phone session.Phone
	key   []byte     // as the answer lies under it; nil when there is none
	done  chan error // holds one

	forgotten int64 // counts who had been forgotten

	snapshot *snapshot // nil when nothing was read now, but recalled
	standing
	reply []byte    // nil when there is none
	until time.Time // of the reply

	asks, kept string  // what the message asks, and what was kept with the dialogue
	rows       []piece // the answers to both
	known      *known  // made of them; nil before that
	missed     bool    // the turn asked what was not recalled
	rested     bool    // there is no dialogue, or one that rests
	me         *session.Person
}

// standing is how a phone stands: its dialogue and its person.
type standing struct {
	dialogueVersion, personVersion int64  // 0 when there is none
	dialogue, person               []byte // nil when there is none
}

// snapshot is a transaction that only reads, shared by the turns of a group. It
// ends with the last of them.
type snapshot struct {
	store *Store
	conn  *pgxpool.Conn
	begun time.Time
	mu    sync.Mutex // one query at a time
	turns atomic.Int32
}

const beginSnapshot = "begin isolation level repeatable read, read only"

// lookSQL finds for each phone and key what every turn asks. A lateral subquery
// each has the database look up by key, whatever it knows of the tables.
const lookSQL = `select coalesce(d.version, 0), d.value, coalesce(d.asks, ''), coalesce(d.rests, 0), coalesce(p.version, 0), p.value, u.reply, coalesce(u.until, 0)
	from unnest($1::text[], $2::bytea[]) with ordinality as t (phone, key, number)
	left join lateral (select version, value, asks, rests from dialogues where phone = t.phone and t.phone <> '' limit 1) d on true
	left join lateral (select version, value from people where phone = t.phone limit 1) p on true
	left join lateral (select reply, until from duplicates where key = t.key limit 1) u on true
	order by t.number`

// forgottenSQL counts who was forgotten: see [exchange].
const forgottenSQL = "select forgotten from about"

// look reads what an exchange asks first, together with others that wait. The
// caller lets the snapshot go.
func (s *Store) look(ctx context.Context, l *lookup) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("postgres: %w", err)
	}
	l.done = make(chan error, 1)
	if err := s.enter(); err != nil {
		return err
	}
	defer s.at.Done()
	if !s.lookups.join(l, &s.at) {
		return fmt.Errorf("postgres: %w: %d exchanges wait", session.ErrBusy, s.options.Waiting)
	}
	return <-l.done
}

// enter reports whether work is taken; Close waits for whoever came in.
func (s *Store) enter() error {
	s.gate.RLock()
	defer s.gate.RUnlock()
	if s.closed {
		return fmt.Errorf("postgres: %w", session.ErrClosed)
	}
	s.at.Add(1)
	return nil
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
	phones, keys, asks := make([]string, len(group)), make([][]byte, len(group)), make([]string, len(group))
	for i, l := range group {
		phones[i], keys[i], asks[i] = string(l.phone), l.key, l.asks
		l.rows = nil
	}
	now := column(time.Now())
	unbound := s.bound(conn)
	var batch pgx.Batch
	batch.Queue(beginSnapshot)
	batch.Queue(lookSQL, phones, keys)
	batch.Queue(asksSQL, phones, asks, int32(session.MostOfMember), now)
	batch.Queue(forgottenSQL)
	s.rounds.Add(1)
	results := conn.SendBatch(context.Background(), &batch)
	_, err = results.Exec()
	if err == nil {
		err = scanGroup(results, group, now)
	}
	if err == nil {
		err = scanAsks(results, group)
	}
	var forgotten int64
	if err == nil {
		err = results.QueryRow().Scan(&forgotten)
	}
	if closed := results.Close(); err == nil {
		err = closed
	}
	unbound() // before the connection carries somebody's writes
	if err != nil {
		conn.Release() // the pool drops a connection that is in a transaction
		return err
	}
	shared := &snapshot{store: s, conn: conn, begun: time.Now()}
	shared.turns.Store(int32(len(group)))
	for _, l := range group {
		l.snapshot, l.forgotten = shared, forgotten
		l.done <- nil
	}
	return nil
}

// bound has the connection given up when the database does not answer in time,
// until what it returns is called. A context would do the same, for a goroutine
// each time.
func (s *Store) bound(conn *pgxpool.Conn) (unbound func()) {
	wire := conn.Conn().PgConn().Conn()
	_ = wire.SetDeadline(time.Now().Add(s.options.Answer)) // a connection that is gone fails by itself
	return func() { _ = wire.SetDeadline(time.Time{}) }
}

func scanGroup(results pgx.BatchResults, group []*lookup, now int64) error {
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
		var rests, until int64
		if err := rows.Scan(&l.dialogueVersion, &l.dialogue, &l.kept, &rests, &l.personVersion, &l.person, &l.reply, &until); err != nil {
			return err
		}
		l.rested, l.until = rests < now, moment(until)
	}
	return rows.Err()
}

// release ends a turn's part in the snapshot. With the last one's the connection
// is over, for the write to end the snapshot on its way; nil before that.
func (p *snapshot) release() *pgxpool.Conn {
	if p.turns.Add(-1) > 0 {
		return nil
	}
	// Of those that wait for a writer only some keep their connection, and none
	// that the database may lose patience with.
	if time.Since(p.begun) > p.store.options.Idle/2 || int(p.store.carried.Add(1)) > p.store.options.Connections/4 {
		p.store.carried.Add(-1)
		p.store.end(p.conn)
		return nil
	}
	return p.conn
}

// drop ends the snapshot on a connection that no write takes along.
func (s *Store) drop(conn *pgxpool.Conn) {
	if conn != nil {
		s.carried.Add(-1)
		s.end(conn)
	}
}

// end ends the snapshot on a connection. Nobody waits for that.
func (s *Store) end(conn *pgxpool.Conn) {
	end := func() {
		defer conn.Release()
		defer s.bound(conn)()
		_, _ = conn.Conn().PgConn().Exec(context.Background(), "commit").ReadAll() // a connection that fails here is dropped
	}
	if !s.aside(end) {
		end()
	}
}

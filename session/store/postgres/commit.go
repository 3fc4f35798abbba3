package postgres

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"

	"threshline/session"
)

// job is an exchange that waits for its commit.
type job struct {
	ctx      context.Context
	x        *exchange
	answered *session.Reply // to another delivery of this message
	done     chan error     // holds one
}

// submit has a writer commit x and waits until it is synced or refused. Once
// queued, a cancelled context takes it back only if it was not begun: the
// caller always learns what became of it.
func (s *Store) submit(ctx context.Context, x *exchange) (answered *session.Reply, err error) {
	if err := ctx.Err(); err != nil {
		s.drop(x.conn)
		return nil, fmt.Errorf("postgres: %w", err)
	}
	j := &job{ctx: ctx, x: x, done: make(chan error, 1)}
	if err := s.enter(); err != nil {
		s.drop(x.conn)
		return nil, err
	}
	defer s.at.Done()
	if !s.jobs.join(j, &s.at) {
		s.drop(x.conn)
		return nil, fmt.Errorf("postgres: %w: %d writes wait", session.ErrBusy, s.options.Waiting)
	}
	err = <-j.done
	return j.answered, err
}

// writeGroup commits a group and reports to each exchange what became of it.
// When one exchange spoils the transaction, each is tried alone.
func (s *Store) writeGroup(group []*job) {
	live := make([]*job, 0, len(group))
	var carried *pgxpool.Conn
	for _, j := range group {
		if carried == nil {
			carried = j.x.conn
		} else {
			s.drop(j.x.conn)
		}
		if err := j.ctx.Err(); err != nil {
			j.done <- fmt.Errorf("postgres: %w", err)
			continue
		}
		if over := s.over.Load(); over != nil {
			j.done <- *over
			continue
		}
		if s.outdated(j) {
			j.done <- errAgain
			continue
		}
		live = append(live, j)
	}
	// All groups lock dialogues in one order.
	slices.SortStableFunc(live, func(a, b *job) int { return cmp.Compare(a.x.key.Phone, b.x.key.Phone) })
	err := s.tryWrite(live, carried)
	if err != nil && len(live) > 1 && spoilt(err) {
		for _, j := range live {
			alone := []*job{j}
			if err := s.tryWrite(alone, nil); err != nil {
				s.tell(alone, err)
			}
		}
		return
	}
	s.tell(live, err)
}

// outdated reports whether an exchange goes by what was let go since.
func (s *Store) outdated(j *job) bool { return j.x.person != nil && j.x.cleared != s.recent.count() }

// spoilt reports whether one exchange may have failed the whole group.
func spoilt(err error) bool {
	return errors.Is(err, session.ErrConflict) || errors.Is(err, errAgain) || errors.Is(err, ErrInvalid) || meaningless(err)
}

// meaningless reports whether an error is none that the table of faults knows.
func meaningless(err error) bool {
	for _, known := range []error{session.ErrAway, session.ErrBusy, session.ErrFull, session.ErrClosed, errUnknown} {
		if errors.Is(err, known) {
			return false
		}
	}
	return true
}

func (s *Store) tell(group []*job, err error) {
	if err == nil {
		return // tryWrite did
	}
	for _, j := range group {
		j.done <- err
	}
}

const writeSQL = `select item, outcome, what, was, stored from fresh($25) f, lateral write_exchanges(case when f then $1::text[] end, $2, $3, $4, $5, $6, $7, $8, $9,
	$10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22, $23, $24)`

// tryWrite commits a group in one round trip, and tells everybody unless it
// returns an error: then nothing was stored, except after errUnknown. A carried
// connection has a snapshot to end first; nil takes one from the pool.
func (s *Store) tryWrite(group []*job, carried *pgxpool.Conn) error {
	if len(group) == 0 {
		s.drop(carried)
		return nil
	}
	args := arrays(group)
	err := s.write(group, args, carried)
	// A connection that was gone already has sent nothing; the pool drops it.
	for tries := 0; tries < s.options.Connections && err != nil && pgconn.SafeToRetry(err); tries++ {
		err = s.write(group, args, nil)
	}
	var away *noConnection
	switch {
	case err == nil:
		s.commits.Add(1)
	case !errors.As(err, &away) && mayBeStored(err):
		s.pool.Reset()
		err = fmt.Errorf("postgres: write: %w: %w", errUnknown, err)
	default:
		err = fault(context.Background(), "write", err)
	}
	s.report(err)
	return err
}

// result is what write_exchanges says became of one exchange.
type result struct {
	outcome int
	what    string
	was     []byte
	stored  int64
}

func (s *Store) write(group []*job, args []any, conn *pgxpool.Conn) error {
	results, err := s.send(group, args, conn)
	if err != nil {
		return err
	}
	if len(results) != len(group) {
		return fmt.Errorf("postgres: %d outcomes of %d exchanges", len(results), len(group))
	}
	for i, j := range group {
		if results[i].outcome == written {
			s.put.Add(j.x.size())
		}
		j.done <- j.result(results[i])
	}
	return nil
}

// size is how many bytes of keys and values an exchange puts.
func (x *exchange) size() int64 {
	n := len(x.answer) + len(x.reply) + len(x.value)
	if x.own == storeDialogue {
		n += len(x.key.Phone)
	}
	for _, c := range x.changes {
		n += len(c.id) + len(c.a) + len(c.b) + len(c.value)
	}
	return int64(n)
}

// send writes, and has let go of the connection when it returns: it is warm, and
// the first to be taken again.
func (s *Store) send(group []*job, args []any, conn *pgxpool.Conn) (results []result, err error) {
	var batch pgx.Batch
	if conn != nil {
		s.carried.Add(-1)
		batch.Queue("commit")
	} else {
		ctx, cancel := context.WithTimeout(context.Background(), s.options.Answer)
		conn, err = s.pool.Acquire(ctx)
		cancel()
		if err != nil {
			return nil, &noConnection{err}
		}
	}
	defer conn.Release()
	if slices.ContainsFunc(group, s.outdated) { // by this connection, which is new
		return nil, &noConnection{errAgain}
	}
	defer s.bound(conn)()
	s.rounds.Add(1)
	batch.Queue(writeSQL, args...).Query(func(rows pgx.Rows) error {
		for rows.Next() {
			var item int
			var one result
			if err := rows.Scan(&item, &one.outcome, &one.what, &one.was, &one.stored); err != nil {
				return err
			}
			results = append(results, one)
		}
		return rows.Err()
	})
	return results, conn.SendBatch(context.Background(), &batch).Close()
}

// noConnection wraps why there was none: nothing was sent.
type noConnection struct{ cause error }

func (e *noConnection) Error() string { return e.cause.Error() }

// Unwrap returns the cause.
func (e *noConnection) Unwrap() error { return e.cause }

// SafeToRetry keeps it from being tried at once: no connection comes of that.
func (e *noConnection) SafeToRetry() bool { return false }

// The outcomes that write_exchanges gives.
const (
	written = iota
	answeredBefore
	changedMeanwhile
	keyTaken
	reminderGone
	textChanged // see settle
)

// result turns an outcome into the caller's error.
func (j *job) result(r result) (err error) {
	switch r.outcome {
	case written:
		j.x.stored = r.stored
		return nil
	case answeredBefore:
		j.answered, err = readReply(r.was)
		return err
	case changedMeanwhile:
		return conflict(r.what)
	case keyTaken:
		return taken(r.what)
	case reminderGone:
		return fmt.Errorf("postgres: %s: %w", r.what, session.ErrNotFound)
	}
	return fmt.Errorf("postgres: an outcome %d that nobody knows", r.outcome)
}

// arrays are a group's exchanges as write_exchanges takes them.
func arrays(group []*job) []any {
	n := len(group)
	phone, key := make([]string, n), make([][]byte, n)
	read, until, expires := make([]int64, n), make([]int64, n), make([]int64, n)
	reply, value, asks := make([][]byte, n), make([][]byte, n), make([]*string, n)
	rests, own, changes := make([]int64, n), make([]int32, n), make([]int32, n)
	who, seen := make([]*string, n), make([]int64, n)
	forgotten := int64(0) // the least count that one of the group read
	var item []int32
	var kind, id, a, b []string
	var version, cn, cm, cl, cc []int64
	var rec [][]byte
	for i, j := range group {
		x := j.x
		phone[i], read[i], key[i], until[i], reply[i] = string(x.key.Phone), x.read, x.answer, column(x.key.KeepUntil), x.reply
		own[i], expires[i], value[i], changes[i] = int32(x.own), x.expires, x.value, int32(len(x.changes))
		asks[i], rests[i], who[i], seen[i] = x.asks, x.rests, x.person, x.personVersion
		if x.forgotten > 0 && (forgotten == 0 || x.forgotten < forgotten) {
			forgotten = x.forgotten
		}
		for _, c := range x.changes {
			item = append(item, int32(i+1))
			kind, id, version = append(kind, c.kind), append(id, c.id), append(version, c.version)
			a, b = append(a, c.a), append(b, c.b)
			cn, cm, cl, cc = append(cn, c.n), append(cm, c.m), append(cl, c.l), append(cc, c.c)
			rec = append(rec, c.value)
		}
	}
	return []any{phone, read, key, until, reply, own, expires, value, changes, item, kind, id, version, a, b, cn, cm, cl, cc, rec, asks, rests, who, seen, forgotten}
}

package postgres

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

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
		return nil, fmt.Errorf("postgres: %w", err)
	}
	j := &job{ctx: ctx, x: x, done: make(chan error, 1)}
	s.gate.RLock()
	if s.closed {
		s.gate.RUnlock()
		return nil, fmt.Errorf("postgres: %w", session.ErrClosed)
	}
	select {
	case s.jobs <- j:
		s.gate.RUnlock()
	default:
		s.gate.RUnlock()
		return nil, fmt.Errorf("postgres: %w: %d writes wait", session.ErrBusy, cap(s.jobs))
	}
	err = <-j.done
	return j.answered, err
}

// writeAll is one of the writers. It ends when the queue is closed and empty.
func (s *Store) writeAll() {
	group := make([]*job, 0, groupSize)
	for first := range s.jobs {
		runtime.Gosched() // whoever is about to write does so first
		group = gather(append(group[:0], first), s.jobs)
		s.writeGroup(group)
		clear(group)
	}
}

// writeGroup commits a group and reports to each exchange what became of it.
// When one exchange spoils the transaction, each is tried alone.
func (s *Store) writeGroup(group []*job) {
	live := make([]*job, 0, len(group))
	for _, j := range group {
		if err := j.ctx.Err(); err != nil {
			j.done <- fmt.Errorf("postgres: %w", err)
			continue
		}
		live = append(live, j)
	}
	// All groups lock dialogues in one order.
	slices.SortStableFunc(live, func(a, b *job) int { return cmp.Compare(a.x.key.Phone, b.x.key.Phone) })
	err := s.tryWrite(live)
	if err != nil && len(live) > 1 && spoilt(err) {
		for _, j := range live {
			alone := []*job{j}
			if err := s.tryWrite(alone); err != nil {
				s.tell(alone, err)
			}
		}
		return
	}
	s.tell(live, err)
}

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

const writeSQL = `select item, outcome, what, was from write_exchanges($1, $2, $3, $4, $5, $6, $7, $8, $9,
	$10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20)`

// tryWrite commits a group in one round trip, and tells everybody unless it
// returns an error: then nothing was stored, except after errUnknown.
func (s *Store) tryWrite(group []*job) error {
	if len(group) == 0 {
		return nil
	}
	args := arrays(group)
	err := s.write(group, args)
	// A connection that was gone already has sent nothing; the pool drops it.
	for tries := 0; tries < s.options.Connections && err != nil && pgconn.SafeToRetry(err); tries++ {
		err = s.write(group, args)
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

func (s *Store) write(group []*job, args []any) error {
	ctx, cancel := context.WithTimeout(context.Background(), s.options.Answer)
	defer cancel()
	conn, err := s.pool.Acquire(ctx)
	if err != nil {
		return &noConnection{err}
	}
	defer conn.Release()
	s.rounds.Add(1)
	type result struct {
		outcome int
		what    string
		was     []byte
	}
	results := make([]result, 0, len(group))
	err = each(ctx, conn, writeSQL, args, func(r pgx.Rows) error {
		var item int
		var one result
		err := r.Scan(&item, &one.outcome, &one.what, &one.was)
		results = append(results, one)
		return err
	})
	if err != nil {
		return err
	}
	if len(results) != len(group) {
		return fmt.Errorf("postgres: %d outcomes of %d exchanges", len(results), len(group))
	}
	for i, j := range group {
		j.done <- j.result(results[i].outcome, results[i].what, results[i].was)
	}
	return nil
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
)

// result turns an outcome into the caller's error.
func (j *job) result(outcome int, what string, was []byte) (err error) {
	switch outcome {
	case written:
		return nil
	case answeredBefore:
		j.answered, err = readReply(was)
		return err
	case changedMeanwhile:
		return conflict(what)
	case keyTaken:
		return taken(what)
	case reminderGone:
		return fmt.Errorf("postgres: %s: %w", what, session.ErrNotFound)
	}
	return fmt.Errorf("postgres: an outcome %d that nobody knows", outcome)
}

// arrays are a group's exchanges as write_exchanges takes them.
func arrays(group []*job) []any {
	n := len(group)
	phone, key := make([]string, n), make([][]byte, n)
	read, until, expires := make([]int64, n), make([]int64, n), make([]int64, n)
	reply, value := make([][]byte, n), make([][]byte, n)
	own, changes := make([]int32, n), make([]int32, n)
	var item []int32
	var kind, id, a, b []string
	var version, cn, cm, cl, cc []int64
	var rec [][]byte
	for i, j := range group {
		x := j.x
		phone[i], read[i], key[i], until[i], reply[i] = string(x.key.Phone), x.read, x.answer, column(x.key.KeepUntil), x.reply
		own[i], expires[i], value[i], changes[i] = int32(x.own), x.expires, x.value, int32(len(x.changes))
		for _, c := range x.changes {
			item = append(item, int32(i+1))
			kind, id, version = append(kind, c.kind), append(id, c.id), append(version, c.version)
			a, b = append(a, c.a), append(b, c.b)
			cn, cm, cl, cc = append(cn, c.n), append(cm, c.m), append(cl, c.l), append(cc, c.c)
			rec = append(rec, c.value)
		}
	}
	return []any{phone, read, key, until, reply, own, expires, value, changes, item, kind, id, version, a, b, cn, cm, cl, cc, rec}
}

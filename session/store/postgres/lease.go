package postgres

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"
)

// Lease is work that this gateway does for all.
type Lease struct {
	store *Store
	name  string
	fence int64
}

// Begin takes a lease on work that is to be done every so often, by one gateway
// for all; nil when it is not due, or another's. After within the lease is
// over, and whoever asks next takes the work over.
func (s *Store) Begin(ctx context.Context, work string, every, within time.Duration) (*Lease, error) {
	l := &Lease{store: s, name: work}
	err := s.query(ctx, "begin "+work, "select begin_work($1, $2, $3, $4)", []any{work, s.options.Holder, int64(every), int64(within)}, func(r pgx.Rows) error {
		return r.Scan(&l.fence)
	})
	if err != nil || l.fence == 0 {
		return nil, err
	}
	return l, nil
}

// End says that the work is done, or that another gateway should do it. It
// returns session.ErrConflict when another has taken it over: then throw away
// what was made.
func (l *Lease) End(ctx context.Context, done bool) error { return l.end(ctx, done, nil) }

// Finish is End of work that is done, with what it came to, for all gateways.
func (l *Lease) Finish(ctx context.Context, result []byte) error { return l.end(ctx, true, result) }

func (l *Lease) end(ctx context.Context, done bool, result []byte) error {
	ours := false
	err := l.store.query(ctx, "end "+l.name, "select finish_work($1, $2, $3, $4)", []any{l.name, l.fence, done, result}, func(r pgx.Rows) error { return r.Scan(&ours) })
	if err == nil && !ours {
		return conflict("the lease on " + l.name)
	}
	return err
}

// Result is what work came to when it was last finished, by any gateway; nil when
// it never was.
func (s *Store) Result(ctx context.Context, work string) (result []byte, err error) {
	err = s.query(ctx, "look up "+work, "select result from leases where name = $1", []any{work}, func(r pgx.Rows) error { return r.Scan(&result) })
	return result, err
}

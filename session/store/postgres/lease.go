package postgres

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"threshline/session"
)

// Begin takes a lease on work that is to be done every so often, by one gateway
// for all; one that is not held when it is not due, or another's. After within
// the lease is over, and whoever asks next takes the work over.
func (s *Store) Begin(ctx context.Context, work string, every, within time.Duration) (session.Lease, error) {
	l := session.Lease{Work: work}
	err := s.query(ctx, "begin "+work, "select begin_work($1, $2, $3, $4)", []any{work, s.options.Holder, int64(every), int64(within)}, func(r pgx.Rows) error {
		var fence int64
		err := r.Scan(&fence)
		l.Fence = uint64(fence)
		return err
	})
	return l, err
}

// End says that the work is done, with what it came to for all gateways, or that
// another gateway should do it. It returns session.ErrConflict when another has
// taken it over: then throw away what was made.
func (s *Store) End(ctx context.Context, l session.Lease, done bool, result []byte) error {
	ours := false
	err := s.query(ctx, "end "+l.Work, "select finish_work($1, $2, $3, $4)", []any{l.Work, int64(l.Fence), done, result}, func(r pgx.Rows) error { return r.Scan(&ours) })
	if err == nil && !ours {
		return conflict("the lease on " + l.Work)
	}
	return err
}

// Result is what work came to when it was last finished, by any gateway; nil when
// it never was.
func (s *Store) Result(ctx context.Context, work string) (result []byte, err error) {
	err = s.query(ctx, "look up "+work, "select result from leases where name = $1", []any{work}, func(r pgx.Rows) error { return r.Scan(&result) })
	return result, err
}

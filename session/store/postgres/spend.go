package postgres

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"
)

// Spend takes segments out of a part of a channel's day, for all gateways together: see
// dispatch.Purse.
func (s *Store) Spend(ctx context.Context, channel, part string, day time.Time, segments, most int, must bool) (spent int, taken, first bool, err error) {
	err = s.query(ctx, "spend", "select spent, taken, first from spend($1, $2, $3, $4, $5, $6)",
		[]any{channel, part, column(day), int64(segments), int64(most), must}, func(r pgx.Rows) error { return r.Scan(&spent, &taken, &first) })
	return spent, taken, first, err
}

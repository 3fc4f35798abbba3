package postgres

import (
	"time"

	"threshline/session/store/record"
)

// none is the time in a column that stands for "none"; it sorts before all.
const none = -1 << 63

// column is a time as a column holds it: nanoseconds since 1970.
func column(t time.Time) int64 { return int64(record.Instant(t) ^ 1<<63) }

// moment is the inverse of column.
func moment(n int64) time.Time { return record.Moment(uint64(n) ^ 1<<63) }

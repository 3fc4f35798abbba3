package record

import "time"

// Instant turns a time into a number that sorts as times do. The zero time,
// which stands for "none", sorts before all. Good for the years 1678 to 2262.
func Instant(t time.Time) uint64 {
	if t.IsZero() {
		return 0
	}
	return uint64(t.UnixNano()) ^ 1<<63
}

// Later is the instant d after t; that of "none" when t is none.
func Later(t time.Time, d time.Duration) uint64 {
	if t.IsZero() {
		return 0
	}
	return Instant(t.Add(d))
}

// Moment is the inverse of Instant.
func Moment(n uint64) time.Time {
	if n == 0 {
		return time.Time{}
	}
	return time.Unix(0, int64(n^1<<63)).UTC()
}

package ledger

import (
	"testing"
	"time"

	"threshline/session"
)

func TestSlipsKeepTheirLetters(t *testing.T) {
	b := newBooks(nil)
	seen := map[uint64]session.Slip{}
	for _, s := range []session.Slip{"", "A", "7KQ2M9X", "EIGHT888", "longer than eight", "né", "a\x00b", "7kq2m9x", "longer than eighty"} {
		key := b.slipKey(s)
		b.share()
		if got := b.slip(key); got != s {
			t.Errorf("%q comes back as %q", s, got)
		}
		if o, taken := seen[key]; taken {
			t.Errorf("%q and %q share a key", s, o)
		}
		seen[key] = s
	}
}

func TestDaysAndWeeksAreTheZones(t *testing.T) {
	east := time.FixedZone("EAT", 3*3600)
	for _, c := range []struct{ at, day, monday string }{
		{"2026-11-22T20:59:59Z", "2026-11-22", "2026-11-16"}, // a Sunday, for another second
		{"2026-11-22T21:00:00Z", "2026-11-23", "2026-11-23"},
		{"1970-01-01T00:00:00Z", "1970-01-01", "1969-12-29"},
		{"2028-02-29T12:00:00Z", "2028-02-29", "2028-02-28"},
	} {
		at, err := time.Parse(time.RFC3339, c.at)
		if err != nil {
			t.Fatal(err)
		}
		day := dayOf(at, east)
		if got := dayName(int(day)); got != c.day {
			t.Errorf("%s is on %s, want %s", c.at, got, c.day)
		}
		if got := dayName(int(weekOf(day))*7 - 3); got != c.monday {
			t.Errorf("%s is in the week of %s, want %s", c.at, got, c.monday)
		}
	}
}

package dispatch

import (
	"fmt"
	"strings"
	"time"
)

// Quiet is the part of the day, in the programme's time zone, in which
// reminders and digests wait. From is inclusive, To exclusive, both since
// midnight; it may run over midnight. Equal bounds mean no quiet hours.
type Quiet struct{ From, To time.Duration }

// ParseQuiet reads "21:00-07:00". An empty text means no quiet hours.
func ParseQuiet(text string) (Quiet, error) {
	if text == "" {
		return Quiet{}, nil
	}
	from, to, ok := strings.Cut(text, "-")
	first, err1 := time.Parse("15:04", from)
	last, err2 := time.Parse("15:04", to)
	if !ok || err1 != nil || err2 != nil {
		return Quiet{}, fmt.Errorf("dispatch: quiet hours %q, want two times of day such as \"21:00-07:00\"", text)
	}
	at := func(t time.Time) time.Duration {
		return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute
	}
	return Quiet{From: at(first), To: at(last)}, nil
}

// Until returns when the quiet hours around now end, or now itself outside of
// them. Bounds are times on the wall clock, so that a change to summer time
// moves neither.
func (q Quiet) Until(now time.Time, zone *time.Location) time.Time {
	if q.From == q.To {
		return now
	}
	local := now.In(zone)
	clock := time.Duration(local.Hour())*time.Hour + time.Duration(local.Minute())*time.Minute +
		time.Duration(local.Second())*time.Second + time.Duration(local.Nanosecond())
	overMidnight := q.From > q.To
	switch {
	case !overMidnight && q.From <= clock && clock < q.To, overMidnight && clock < q.To:
		return onDay(local, 0, q.To)
	case overMidnight && clock >= q.From:
		return onDay(local, 1, q.To)
	}
	return now
}

// onDay returns the time of day at, days after local's own day.
func onDay(local time.Time, days int, at time.Duration) time.Time {
	y, m, d := local.Date()
	return time.Date(y, m, d+days, int(at/time.Hour), int(at/time.Minute)%60, 0, 0, local.Location())
}

package dispatch_test

import (
	"testing"
	"time"
	_ "time/tzdata" // zones with summer time, wherever the test runs

	"threshline/gateway/dispatch"
)

func TestQuietHoursEndOnTheWallClock(t *testing.T) {
	paris, err := time.LoadLocation("Europe/Paris")
	if err != nil {
		t.Fatal(err)
	}
	night, err := dispatch.ParseQuiet("21:00-07:00")
	if err != nil {
		t.Fatal(err)
	}
	noon, err := dispatch.ParseQuiet("12:00-13:30")
	if err != nil {
		t.Fatal(err)
	}
	cases := []struct {
		name      string
		quiet     dispatch.Quiet
		now, want string
	}{
		{"by day nothing waits", night, "2026-01-10 12:00:00", "2026-01-10 12:00:00"},
		{"the first bound is inclusive", night, "2026-01-10 21:00:00", "2026-01-11 07:00:00"},
		{"just before it nothing waits", night, "2026-01-10 20:59:59", "2026-01-10 20:59:59"},
		{"after midnight it ends the same morning", night, "2026-01-11 03:00:00", "2026-01-11 07:00:00"},
		{"the last bound is exclusive", night, "2026-01-11 07:00:00", "2026-01-11 07:00:00"},
		{"within one day", noon, "2026-01-11 12:30:00", "2026-01-11 13:30:00"},
		// Clocks go forward at 2 on 29 March 2026 and back at 3 on 25 October.
		{"into summer time the morning stays at seven", night, "2026-03-28 22:00:00", "2026-03-29 07:00:00"},
		{"out of summer time too", night, "2026-10-24 22:00:00", "2026-10-25 07:00:00"},
		{"no quiet hours", dispatch.Quiet{}, "2026-01-10 23:00:00", "2026-01-10 23:00:00"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			now, err := time.ParseInLocation(time.DateTime, c.now, paris)
			if err != nil {
				t.Fatal(err)
			}
			if got := c.quiet.Until(now.UTC(), paris).In(paris).Format(time.DateTime); got != c.want {
				t.Errorf("at %s quiet until %s, want %s", c.now, got, c.want)
			}
		})
	}
}

func TestQuietHoursAreReadStrictly(t *testing.T) {
	for _, text := range []string{"21:00", "21:00-7", "25:00-07:00", "21:60-07:00", "21:00-07:00 x", "-1:00-07:00", "21:00-07:00 ."} {
		if q, err := dispatch.ParseQuiet(text); err == nil {
			t.Errorf("%q was read as %v", text, q)
		}
	}
	if q, err := dispatch.ParseQuiet(""); err != nil || q != (dispatch.Quiet{}) {
		t.Errorf("an empty text: %v, %v", q, err)
	}
}

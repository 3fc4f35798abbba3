package programme_test

import (
	"testing"
	"time"

	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// TestAMeterIsKnownWhileItIsGood: to the end of its last day in the programme's
// own zone; then, and where nobody knows it, nothing of it is known but its name.
func TestAMeterIsKnownWhileItIsGood(t *testing.T) {
	p := programme.Programme{Zone: time.FixedZone("", 3*3600), Meters: []programme.Meter{
		{Meter: grading.Meter{Name: "M2", Bias: 9000, Doubt: 1500, Checked: true}, CheckedOn: "2026-06-15", GoodUntil: "2026-11-24"},
	}}
	last := time.Date(2026, 11, 24, 20, 59, 0, 0, time.UTC)
	for _, row := range []struct {
		name, meter string
		at          time.Time
		want        grading.Meter
	}{
		{"on its last day", "m2", last, p.Meters[0].Meter},
		{"on the day after", "M2", last.Add(time.Minute), grading.Meter{Name: "M2"}},
		{"one that nobody checked", "M6", last, grading.Meter{Name: "M6"}},
		{"nobody says which", "", last, grading.Meter{}},
	} {
		if got := p.MeterOf(session.Kit{Meter: row.meter}, row.at); got != row.want {
			t.Errorf("%s: %+v, want %+v", row.name, got, row.want)
		}
	}
	p.OneMeter = grading.Meter{Bias: 4000, Doubt: programme.OneKindDoubt, Checked: true}
	if got := p.MeterOf(session.Kit{Meter: "M6"}, last); got != p.OneMeter {
		t.Errorf("of one kind: %+v", got)
	}
}

package programme

import (
	"fmt"
	"strings"
	"time"
	"unicode"

	"threshline/grading"
	"threshline/session"
)

// Meter is a moisture meter that somebody of the programme put beside an oven, or
// beside a meter that was.
type Meter struct {
	grading.Meter
	// CheckedOn and GoodUntil are days, "2026-10-01", the last one included; ""
	// where nobody says.
	CheckedOn, GoodUntil string
	// Kept says that the desk keeps it; the others are of the configuration.
	Kept bool
}

// LongestMeter is how many letters the name of a meter has at most, for a phone's
// screen.
const LongestMeter = 12

// MostDoubt is the most that a check of a meter may leave in doubt, points.
const MostDoubt grading.Decimal = 2 * grading.One

// KeptMeter is a meter as the desk keeps it; false for one that was retired, and
// for what is no meter.
func KeptMeter(a *session.Account) (Meter, bool) {
	m := Meter{
		Meter:     grading.Meter{Name: a.Name, Bias: a.Meter.Bias, Doubt: a.Meter.Doubt, Checked: true},
		CheckedOn: a.Meter.CheckedOn, GoodUntil: a.Meter.GoodUntil, Kept: true,
	}
	return m, a.Kind == session.DeskMeter && a.Ended.IsZero()
}

// Wrong says what is wrong with a meter, in a sentence; "" nothing.
func (m *Meter) Wrong() string {
	for _, day := range []string{m.CheckedOn, m.GoodUntil} {
		if _, err := time.Parse(time.DateOnly, day); day != "" && err != nil {
			return fmt.Sprintf("The day %q cannot be read: write it as year-month-day, such as 2026-11-25.", day)
		}
	}
	plain := func(r rune) bool {
		return r <= 'z' && (unicode.IsLetter(r) || unicode.IsDigit(r) || r == '-' || r == ' ')
	}
	switch {
	case m.Name == "" || len(m.Name) > LongestMeter || strings.ContainsFunc(m.Name, func(r rune) bool { return !plain(r) }):
		return fmt.Sprintf("The name of a meter has 1 to %d letters and digits, as a phone shows them.", LongestMeter)
	case m.Bias < -grading.MostBias || m.Bias > grading.MostBias:
		return "The bias is in points above the oven, " + grading.MostBias.String() + " at most either way."
	case m.Doubt < 0 || m.Doubt > MostDoubt:
		return "The doubt of the bias is in points, from 0 to " + MostDoubt.String() + "."
	case m.CheckedOn == "":
		return "Say on which day it was put beside the oven."
	case m.GoodUntil != "" && m.GoodUntil < m.CheckedOn:
		return "It cannot be good until before it was checked."
	}
	return ""
}

// MeterDoubt is what a check of a meter leaves in doubt, as a standard deviation,
// points: of a dozen readings beside an oven, each as wide as hand meters scatter
// (0.13 to 0.22 [HAND-METERS]), and of the oven. Source: assumed.
const MeterDoubt grading.Decimal = 1500

// OneKindDoubt is the same of meters of one kind, none of which was checked by
// itself, points. Source: assumed; three of different kinds lay 0.7 apart
// [HAND-METERS].
const OneKindDoubt grading.Decimal = 4000

// MeterNames lists the meters that were checked.
func (p *Programme) MeterNames() []string {
	names := make([]string, len(p.Meters))
	for i := range names {
		names[i] = p.Meters[i].Name
	}
	return names
}

// MeterOf is the meter of a kit as it is known on a day: corrected while it is good,
// else nothing but its name.
func (p *Programme) MeterOf(kit session.Kit, at time.Time) grading.Meter {
	day := at
	if p.Zone != nil {
		day = at.In(p.Zone)
	}
	for i := range p.Meters {
		m := &p.Meters[i]
		if kit.Meter == "" || !strings.EqualFold(m.Name, kit.Meter) {
			continue
		}
		if m.GoodUntil != "" && day.Format(time.DateOnly) > m.GoodUntil {
			return grading.Meter{Name: m.Name}
		}
		return m.Meter
	}
	if p.OneMeter.Checked {
		return p.OneMeter
	}
	return grading.Meter{Name: kit.Meter}
}

package programme

import (
	"fmt"
	"strings"
	"time"
	"unicode"

	"threshline/grading"
	"threshline/session"
)

// Meter is a moisture meter that somebody of the programme compared with an oven, or
// with a meter that was compared with one.
type Meter struct {
	grading.Meter
	// CheckedOn and GoodUntil are days, "2026-10-01", the last one included; ""
	// where nobody says.
	CheckedOn, GoodUntil string
	// Kept says that the desk keeps it; the others come from the configuration.
	Kept bool
}

// LongestMeter is the most letters that the name of a meter may have, so that it fits a
// phone's screen.
const LongestMeter = 12

// MostDoubt is the most that a check of a meter may leave in doubt, points.
const MostDoubt grading.Decimal = 2 * grading.One

// KeptMeter returns a meter as the desk keeps it; false for a retired one, and for what
// is no meter.
func KeptMeter(a *session.Account) (Meter, bool) {
	m := Meter{
		Meter:     grading.Meter{Name: a.Name, Bias: a.Meter.Bias, Doubt: a.Meter.Doubt, Checked: true},
		CheckedOn: a.Meter.CheckedOn, GoodUntil: a.Meter.GoodUntil, Kept: true,
	}
	return m, a.Kind == session.DeskMeter && a.Ended.IsZero()
}

// Wrong says in a sentence what is wrong with a meter; "" if nothing is.
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

// MeterDoubt is the doubt that remains after a meter was checked, a standard deviation
// in points: that of a dozen readings beside an oven, each as scattered as those of
// hand meters (0.13 to 0.22 [HAND-METERS]), and that of the oven. Source: assumed.
const MeterDoubt grading.Decimal = 1500

// OneKindDoubt is the same for meters of one kind, none of which was checked itself,
// points. Source: assumed; three meters of different kinds were 0.7 apart
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

// MeterOf returns the meter of a kit as it is known on a day: with its correction while
// that is good, otherwise with its name alone.
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

package programme

import (
	"strings"
	"time"

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

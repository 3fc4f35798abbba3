package programme

import (
	"slices"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
)

// Danger is a reason for somebody of the programme to go and see a lot.
type Danger string

// The dangers, the worst first. The first five are what was seen or smelt.
const (
	TreatedSeed Danger = Danger(grading.TreatedSeed)
	Mouldy      Danger = Danger(grading.Mouldy)
	Musty       Danger = Danger(grading.Musty)
	Chemical    Danger = Danger(grading.OffOdour)
	Warm        Danger = Danger(grading.Warm)
	Insects     Danger = "insects" // a live one is enough
	Wet         Danger = "wet"     // above WetAbove
)

// AllDangers lists them, the worst first.
func AllDangers() []Danger {
	return []Danger{TreatedSeed, Mouldy, Musty, Chemical, Warm, Insects, Wet}
}

// WetAbove is the moisture, % wet basis, exclusive, above which a lot is told
// to the coordinators. Source: as advice.MicrobesAbove.
const WetAbove = advice.MicrobesAbove

// Dangers lists the dangers in a check's readings, the worst first. Moisture is the
// mean of the readings, rounded as the standard in force rounds it. Without a standard
// it is rounded to tenths, as meters show it.
func (p *Programme) Dangers(c *session.Check) (found []Danger) {
	for _, seen := range [...]Danger{TreatedSeed, Mouldy, Musty, Chemical, Warm} {
		if slices.Contains(c.Readings.Flags, grading.Flag(seen)) {
			found = append(found, seen)
		}
	}
	if c.Infested() {
		found = append(found, Insects)
	}
	if value, ok := p.Moisture(c); ok && value > WetAbove || !ok && c.Readings.WetByHand() == grading.VeryWet {
		found = append(found, Wet)
	}
	return found
}

// Seen lists the dangers of a check without those carried over from an earlier check.
func (p *Programme) Seen(c *session.Check) []Danger {
	return slices.DeleteFunc(p.Dangers(c), func(d Danger) bool { return slices.Contains(c.Held, grading.Flag(d)) })
}

// Held lists the dangers that a check carries over from an earlier check of its lot.
func (p *Programme) Held(c *session.Check) []Danger {
	return slices.DeleteFunc(p.Dangers(c), func(d Danger) bool { return !slices.Contains(c.Held, grading.Flag(d)) })
}

// Moisture is a check's moisture, % wet basis, as the standard in force rounds it.
func (p *Programme) Moisture(c *session.Check) (value grading.Decimal, measured bool) {
	decimals := 1
	if m := advice.MoistureParameter(p.Standard); m != nil {
		decimals = m.Decimals
		if given, ok := c.Readings.Values[m.ID]; ok {
			return given.Round(decimals), true
		}
	}
	return c.Readings.MeanMoisture().Round(decimals), c.Readings.Has(grading.Moisture)
}

// Uneatable reports whether what has the danger is no food and no feed.
func (d Danger) Uneatable() bool { return grading.Flag(d).Unfit() }

// Poison lists those of a check's dangers that make the lot no food.
func (p *Programme) Poison(c *session.Check) []Danger {
	return slices.DeleteFunc(p.Dangers(c), func(d Danger) bool { return !d.Uneatable() })
}

package advice

import (
	"slices"

	g "threshline/grading"
	"threshline/grading/byhand"
)

// Trial is a remedy of which hands are not sure, with which it costs little to see
// whether it helps: a basket's work, fifty grains more, or the reading of a meter. The
// words for it are in package wording under "remedy.<id>.try" and ".if".
type Trial struct {
	Option
	// Useful is the chance that a full check does not call the remedy useless. Named
	// is the chance that it gives it.
	Useful, Named float64
	// Over is the moisture over which to dry, % wet basis, where it is drying.
	Over g.Decimal
}

// worthTrying is the least chance that a full check gives a remedy, with which it is
// tried. Source: our choice, [ASSUMED-HAND]: what a trial costs is little beside what
// a remedy left undone does.
const worthTrying = 0.15

// trialOf finds the remedy that a full check is most likely to give, over all that the
// lot may be, its water too. Nothing is said of what the lot becomes.
func trialOf(c Case, likely *byhand.Likely) (best Trial) {
	var v Adviser
	tried := make([]Trial, len(table))
	share := 1 / float64(len(likely.Checks))
	for i := range likely.Checks {
		c.Readings, c.Result = likely.Checks[i], g.Result{}
		if i < len(likely.Water) {
			c.Readings.Set(g.Moisture, likely.Water[i])
		}
		if v.Assess(&c) != nil {
			return Trial{}
		}
		full := v.weighAll(&c, ofAll)
		for j := range table {
			if !table[j].CanBeTried() {
				continue
			}
			o, sum := &v.last.options[j], &tried[j]
			if sum.Remedy == "" {
				sum.Option = o.unweighed()
				if sum.Over = o.Target; table[j].Dries && sum.Over == v.last.limitOfWater()-DryingGuard {
					sum.Over += DryingGuard
				}
			}
			if o.Remedy == full.Season || slices.Contains(full.Set, o.Remedy) {
				sum.Named += share
			}
			if !o.useless() || table[j].Dries && v.last.moisture > sum.Over {
				sum.Useful += share
			}
		}
	}
	for j := range tried {
		if tried[j].Named >= worthTrying && c.sized(&table[j]) && tried[j].Named > best.Named {
			best = tried[j]
		}
	}
	return best
}

// limitOfWater is the moisture of the best grade, 0 where the standard limits none.
func (a *advisor) limitOfWater() g.Decimal {
	limit, _ := MoistureLimit(a.s, a.res.Class)
	return limit
}

// CanBeTried reports whether the remedy does something about what hands count or
// a meter reads.
func (r *Remedy) CanBeTried() bool {
	return r.acts() && r.fields()&^bit(g.Cracked) != 0
}

// useless reports whether a full check found nothing to mend by the remedy, or too
// little gain.
func (o *Option) useless() bool {
	switch o.Reason {
	case NotFound, NotMeasured, NoGain:
		return true
	}
	return false
}

// unweighed is the option without what its lot alone says.
func (o *Option) unweighed() Option {
	why := Mends
	if o.When == NextSeason {
		why = FixesCause
	}
	return Option{
		Remedy: o.Remedy, When: o.When, Band: o.Band, Reason: why, InMoney: o.InMoney, CostUnknown: o.CostUnknown,
		Days: o.Days, Passes: 1, Hours: o.Hours, DueDays: o.DueDays, AgainDays: o.AgainDays, Target: o.Target,
		Cautions: o.Cautions, Source: o.Source,
	}
}

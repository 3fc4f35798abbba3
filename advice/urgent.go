package advice

import (
	"slices"

	g "threshline/grading"
)

// safety chooses what protects people, by what was seen or smelt. Heat in a
// lot that is known to be wet is left to drying, with the caution added.
func (a *advisor) safety(out *Advice) bool {
	seen := func(f g.Flag) bool { return slices.Contains(a.r.Flags, f) }
	weevils, others := a.insects()
	calls := []struct {
		id   RemedyID
		does bool
	}{
		{RejectTreated, seen(g.TreatedSeed)},
		{Quarantine, seen(g.Mouldy) || seen(g.Musty)},
		{RejectTainted, seen(g.OffOdour)},
		{CoolInsects, seen(g.Heating) && weevils+others > 0},
		{SpreadAndLook, seen(g.Heating) && weevils+others == 0 && !(a.hasWater && a.moisture > KeepTarget(Food, 0))},
	}
	chosen := false
	for _, call := range calls {
		switch {
		case !call.does:
		case chosen:
			a.option(call.id).Reason = AfterUrgent
		default:
			chosen = a.choose(out, call.id, ForSafety)
		}
	}
	return chosen
}

// insects are the live ones that were seen.
func (a *advisor) insects() (weevils, others int) {
	w, _ := a.r.Get(g.LiveWeevils)
	o, _ := a.r.Get(g.LiveOthers)
	return int(w / g.One), int(o / g.One)
}

// spoil chooses drying for wet grain, then clearing for an infested lot.
func (a *advisor) spoil(out *Advice, mends []weighed) bool {
	heating := slices.Contains(a.r.Flags, g.Heating)
	limit := SpoilsAbove(a.c.Use, a.c.KeepDays)
	if heating {
		limit = KeepTarget(Food, 0)
	}
	if a.hasWater && a.moisture > limit {
		for _, id := range [...]RemedyID{DrySun, DryMachine} {
			o := a.option(id)
			o.Band, o.DueDays = SpoilBand, 0
		}
		for _, w := range mends { // best first
			if w.remedies[0].Dries {
				o := a.option(w.remedies[0].ID)
				if limit < MicrobesAbove || !o.Because.HasLimit {
					o.Because.Value, o.Because.Limit, o.Because.HasLimit = a.water().Value, min(limit, KeepTarget(a.c.Use, a.c.KeepDays)), true
				}
				a.settle(out, w, mends, WillSpoil)
				return true
			}
		}
	}
	if weevils, others := a.insects(); Infested(weevils, others) {
		for _, w := range mends {
			if w.remedies[0].ID == ClearInsects {
				a.settle(out, w, mends, WillSpoil)
				return true
			}
		}
	}
	return false
}

// tooWetToKeep tells whether a lot is over its keeping target: by anything where
// it is known that it will be kept, else by more than a meter's doubt.
func (a *advisor) tooWetToKeep() bool {
	limit := KeepTarget(a.c.Use, a.c.KeepDays)
	if a.c.KeepDays <= 0 && a.c.Use == Food {
		limit += DryingGuard
	}
	return a.hasWater && a.moisture > limit
}

// dampAndHeldDown chooses drying for a lot that no mending betters but that is
// too wet to keep, and too wet for the best grade: it gets worse the longer it
// waits. A lot whose moisture the trade takes is sold instead.
func (a *advisor) dampAndHeldDown(out *Advice) bool {
	if !a.tooWetToKeep() || len(a.res.Deciding) == 0 {
		return false
	}
	if p := MoistureParameter(a.s); p != nil && a.c.KeepDays <= 0 {
		if got := a.res.Parameter(p.ID); got != nil && got.Measured && got.Rank <= 1 {
			return false
		}
	}
	a.option(a.dryer()).Band = SpoilBand
	return a.dryToKeep(out, WillSpoil)
}

// dryToKeep chooses drying in the sun to the keeping target, or to the grade's
// where that is lower.
func (a *advisor) dryToKeep(out *Advice, why ReasonID) bool {
	by := a.dryer()
	o := a.option(by)
	keep := KeepTarget(a.c.Use, a.c.KeepDays)
	o.Because = a.water()
	o.Because.Limit, o.Because.HasLimit = keep, true
	if o.Target = keep; a.hasTarget {
		o.Target = min(keep, a.target)
	}
	o.KGLost = (1 - (hundred-a.moisture).Float()/(hundred-o.Target).Float()) * a.c.KG.Float()
	return a.choose(out, by, why)
}

// dryer is what dries a lot of this size.
func (a *advisor) dryer() RemedyID {
	if sun := RemedyOf(DrySun); a.c.KG.Float() <= sun.LargestKG {
		return DrySun
	}
	return DryMachine
}

// How soon a damp lot is dried, days. Grain of 14 to 18 % lies two to three weeks
// without harm ([IRRI-STORE-OLD]); the days are our choice, [ASSUMED-ADVICE].
const (
	dryInAWeek   = 7
	dryInTwoDays = 2
	soonAbove    = 16 * g.One
	dryToday     = 0
)

// dryWithin is by when the lot is to be dried, days.
func (a *advisor) dryWithin() int {
	switch {
	case a.moisture > MicrobesAbove:
		return dryToday
	case a.moisture > soonAbove:
		return dryInTwoDays
	}
	return dryInAWeek
}

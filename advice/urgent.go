package advice

import (
	"slices"

	g "threshline/grading"
)

// safety chooses what protects people, by what was seen or smelt. Heat in a
// lot that is known to be wet is left to drying, with the caution added.
func (a *advisor) safety(out *Advice) bool {
	chosen := false
	for i := range thisLot {
		switch rem := &table[i]; {
		case rem.Band != SafetyBand || !a.calledFor(rem):
		case chosen:
			a.optionAt(i).Reason = AfterUrgent
		default:
			chosen = a.choose(out, rem.ID, ForSafety)
		}
	}
	return chosen
}

// calledFor reports whether what was seen or smelt calls for the remedy.
func (l *lot) calledFor(rem *Remedy) bool {
	weevils, others := l.insects()
	switch alive := weevils+others > 0; {
	case rem.Insects == InsectsSeen && !alive, rem.Insects == NoInsects && alive:
		return false
	case rem.IfNotWet && (l.hasWater && l.moisture > KeepTarget(Food, 0) || l.wetByHand()):
		return false
	}
	return slices.ContainsFunc(rem.Flags, func(f g.Flag) bool { return slices.Contains(l.r.Flags, f) })
}

// insects are the live ones that were seen.
func (l *lot) insects() (weevils, others int) {
	w, _ := l.r.Get(g.LiveWeevils)
	o, _ := l.r.Get(g.LiveOthers)
	return int(w / g.One), int(o / g.One)
}

// wetByHand reports whether a test without a meter found the lot too wet, and
// no meter has read it.
func (l *lot) wetByHand() bool { return !l.hasWater && l.r.WetByHand() != "" }

// dryByHand chooses drying for a lot that was found too wet without a meter: how
// much it loses, and what it is then, nobody knows.
func (a *advisor) dryByHand(out *Advice) bool {
	by := a.dryer()
	o := a.option(by)
	o.Because, o.Band = Because{Gate: g.WetGate}, SpoilBand
	if o.DueDays = dryInTwoDays; a.r.WetByHand() == g.VeryWet {
		o.DueDays = dryToday
	}
	o.AgainDays = max(o.DueDays, 1)
	if o.Target = KeepTarget(a.c.Use, a.c.KeepDays); a.hasTarget {
		o.Target = min(o.Target, a.target)
	}
	noTest(o)
	return a.choose(out, by, WillSpoil)
}

// spoil chooses drying for wet grain, then clearing for an infested lot.
func (a *advisor) spoil(out *Advice, mends []weighed) bool {
	if a.wetByHand() {
		return a.dryByHand(out)
	}
	warm := slices.Contains(a.r.Flags, g.Warm)
	limit := SpoilsAbove(a.c.Use, a.c.KeepDays)
	if warm {
		limit = KeepTarget(Food, 0)
	}
	if a.hasWater && a.moisture > limit {
		for i := range thisLot {
			if table[i].Dries {
				o := a.optionAt(i)
				o.Band, o.DueDays, o.AgainDays = SpoilBand, 0, 1
			}
		}
		for _, w := range mends { // best first
			if w.remedies[0].Dries {
				o := a.option(w.remedies[0].ID)
				a.answer(o)
				if limit < MicrobesAbove || !o.Because.HasLimit {
					o.Because.Value, o.Because.Limit, o.Because.HasLimit = a.water().Value, min(limit, KeepTarget(a.c.Use, a.c.KeepDays)), true
				}
				a.settle(out, w, mends, WillSpoil)
				return true
			}
		}
	}
	return (Infested(a.insects()) || a.gateFor(RemedyOf(ClearInsects)) != "") && a.infested(out)
}

// infested chooses to seal a lot in which any insect lives, dried first where it
// would rot so. Nothing is said of what grade it becomes: what hides in the
// grains is known only when the lot was looked at again.
func (a *advisor) infested(out *Advice) bool {
	if !a.alive() {
		return false
	}
	if seal := sealAt(a.c.Use); a.hasWater && a.moisture > seal {
		a.option(a.dryer()).Band = SpoilBand
		return a.dryTo(out, seal, WillSpoil)
	}
	return a.choose(out, ClearInsects, WillSpoil)
}

// alive reports whether a live insect was seen.
func (l *lot) alive() bool {
	weevils, others := l.insects()
	return weevils+others > 0
}

// sealLast makes sealing the last step of what is done to a lot in which an
// insect lives.
func (a *advisor) sealLast(out *Advice) {
	best := out.Best
	if !a.alive() || best.When != ThisLot || best.Band != SpoilBand && best.Band != MendBand || slices.Contains(out.Set, ClearInsects) {
		return
	}
	o := a.option(ClearInsects)
	o.Reason = StepOfSet
	out.Set, out.Steps = append(out.Set, ClearInsects), out.Steps+1
	out.SetHours, out.SetCost, out.SetCostUnknown = out.SetHours+o.Hours, out.SetCost+o.Cost, out.SetCostUnknown || o.CostUnknown
	if best.InMoney {
		out.SetGain -= o.Cost
	}
}

// tooWetToKeep reports whether a lot is over its keeping target: by anything
// where it is known that it will be kept, else by more than a meter's doubt.
func (l *lot) tooWetToKeep() bool {
	limit := KeepTarget(l.c.Use, l.c.KeepDays)
	if l.c.KeepDays <= 0 && l.c.Use == Food {
		limit += DryingGuard
	}
	return l.hasWater && l.moisture > limit
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

// dryToKeep chooses drying to the keeping target, or to the grade's where that is
// lower.
func (a *advisor) dryToKeep(out *Advice, why ReasonID) bool {
	return a.dryTo(out, KeepTarget(a.c.Use, a.c.KeepDays), why)
}

func (a *advisor) dryTo(out *Advice, keep g.Decimal, why ReasonID) bool {
	by := a.dryer()
	o := a.option(by)
	o.Because = a.water()
	o.Because.Limit, o.Because.HasLimit = keep, true
	if o.Target = keep; a.hasTarget {
		o.Target = min(keep, a.target)
	}
	o.KGLost = (1 - (hundred-a.moisture).Float()/(hundred-o.Target).Float()) * a.c.KG.Float()
	return a.choose(out, by, why)
}

// dryer is what dries a lot of this size.
func (l *lot) dryer() (id RemedyID) {
	for i := range thisLot {
		if rem := &table[i]; rem.Dries && !l.tooLarge(rem) {
			return rem.ID
		}
	}
	return id
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
func (l *lot) dryWithin() int {
	switch {
	case l.moisture > MicrobesAbove:
		return dryToday
	case l.moisture > soonAbove:
		return dryInTwoDays
	}
	return dryInAWeek
}

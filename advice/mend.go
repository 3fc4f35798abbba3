package advice

import (
	"cmp"
	"math"
	"slices"

	g "threshline/grading"
)

// mends weighs every remedy that changes this lot, best first: by gain,
// then the cheaper, the sooner, the less work, and the table's order.
func (a *advisor) mends() []weighed {
	list := a.list[:0]
	for i := range thisLot {
		rem := &table[i]
		if !rem.Changes() {
			continue
		}
		o := a.optionAt(i)
		switch _, known := a.fee(rem); {
		case !known && !a.beyondHands(rem):
			o.Reason = NotOffered
			continue
		case a.tooLarge(rem):
			o.Reason = LotTooLarge
			continue
		}
		if _, _, applies := a.step(rem, a.r, mid, 1); !applies {
			o.Reason = a.whyNot(rem)
			continue
		}
		w, ok := a.weighed(rem)
		if !ok {
			continue
		}
		w.practicalOrder = i
		a.note(o, &w)
		list = append(list, w)
	}
	slices.SortStableFunc(list, a.better)
	if a.list = list; len(list) > largestPool { // the order says which are left out
		return a.inFull(list)
	}
	return list
}

// inFull is the list of mends with every remedy weighed.
func (a *advisor) inFull(mends []weighed) []weighed {
	if a.brief == nil {
		return mends
	}
	a.brief = nil
	slices.SortFunc(a.list, func(x, y weighed) int { return x.practicalOrder - y.practicalOrder })
	list := a.list[:0]
	for _, w := range a.list {
		if w.brief {
			rem, place := w.remedies[0], w.practicalOrder
			var ok bool
			if w, ok = a.weighed(rem); !ok {
				continue
			}
			w.practicalOrder = place
			a.note(a.optionAt(place), &w)
		}
		list = append(list, w)
	}
	slices.SortStableFunc(list, a.better)
	a.list = list
	return list
}

// beyondHands reports whether to name a paid machine although the programme has
// no tariff for it, because the lot is too large for work by hand.
func (l *lot) beyondHands(rem *Remedy) bool {
	byHand := RemedyOf(rem.Beyond)
	return byHand != nil && l.tooLarge(byHand)
}

// tooLarge reports whether the lot is more than the remedy is sensible for.
func (l *lot) tooLarge(rem *Remedy) bool {
	largest := l.c.Settings.Largest(rem)
	return largest > 0 && l.c.KG.Float() > largest
}

// weighed weighs a remedy. A hopeless one is not graded.
func (a *weigher) weighed(rem *Remedy) (weighed, bool) {
	if hopeless, brief := a.hopeless(rem); hopeless {
		w := weighed{brief: brief, becomes: a.res.Grade, rank: a.res.Rank, chance: a.now.atLeast(a.res.Rank), passes: 1, count: 1}
		w.remedies[0] = rem
		_, w.factor, _ = a.step(rem, a.r, mid, 1)
		if a.market.known {
			w.gain = (w.factor - 1) * a.money
		}
		a.charge(&w, rem, 1)
		return w, true
	}
	return a.weighPasses(rem)
}

func (a *weigher) actsOnDeciding(rem *Remedy) bool {
	return slices.ContainsFunc(a.res.Deciding, func(id g.ParameterID) bool {
		i := a.index(id)
		return i >= 0 && a.made[i].fields&rem.fields() != 0
	})
}

// better orders two weighed remedies, the better first. A remedy that is worth
// doing and has a known cost comes before one with an unknown fee.
func (l *lot) better(x, y weighed) int {
	sure := func(w *weighed) int {
		if !w.costUnknown && w.gain >= l.worth() {
			return 0
		}
		return 1
	}
	return cmp.Or(sure(&x)-sure(&y), compareGains(y.gain, x.gain), cmp.Compare(x.cost, y.cost), cmp.Compare(x.dueDays, y.dueDays),
		cmp.Compare(x.hours, y.hours), cmp.Compare(x.practicalOrder, y.practicalOrder))
}

// compareGains is cmp.Compare, except that nearly equal gains count as equal.
func compareGains(x, y float64) int {
	if math.Abs(x-y) <= g.Rounding {
		return 0
	}
	return cmp.Compare(x, y)
}

// whyNot says whether the lot holds nothing of what the remedy acts on, or
// whether that was not measured.
func (l *lot) whyNot(rem *Remedy) ReasonID {
	for _, f := range rem.fields().Fields() {
		if f == g.Moisture && l.hasWater || f != g.Moisture && l.r.Has(f) {
			return NotFound
		}
	}
	return NotMeasured
}

// note puts a remedy's figures into its option.
func (l *lot) note(o *Option, w *weighed) {
	o.Reason = Mends
	o.Becomes, o.BecomesRank, o.BecomesChance = w.becomes, w.rank, w.chance
	o.Gain, o.Cost, o.Hours, o.Passes, o.CostUnknown = w.gain, w.cost, w.hours, w.passes, w.costUnknown
	o.KGLost = (1 - w.factor) * l.c.KG.Float()
}

// mend chooses the best mending of this lot, or measuring again where that is
// expected to be worth more.
func (a *advisor) mend(out *Advice, mends []weighed) bool {
	var best *weighed
	if len(mends) > 0 && mends[0].gain >= a.worth() {
		best = &mends[0]
	}
	var set *weighed
	if first, ok := a.firstSet(best, mends); ok {
		set = &first
	}
	if a.measureFirst(set) {
		return a.choose(out, MeasureAgain, TooClose)
	}
	if set == nil {
		return false
	}
	a.fix(out, *set, Mends)
	return true
}

// firstSet is the set to start with: that of the best remedy, or, where none
// gains alone, the best two or three that gain together.
func (a *advisor) firstSet(best *weighed, mends []weighed) (w weighed, ok bool) {
	if best != nil {
		return a.grow(*best, mends), true
	}
	return a.pairUp(mends)
}

// settle chooses a remedy with the set that grows from it.
func (a *advisor) settle(out *Advice, w weighed, mends []weighed, why ReasonID) {
	a.fix(out, a.grow(w, mends), why)
}

// fix puts a set into the advice; its first remedy is the best.
func (a *advisor) fix(out *Advice, set weighed, why ReasonID) {
	a.chosen = set
	a.choose(out, set.remedies[0].ID, why)
	out.Steps, out.Set = set.count, out.Set[:0]
	for _, rem := range set.remedies[:set.count] {
		out.Set = append(out.Set, rem.ID)
	}
	out.SetBecomes, out.SetChance, out.SetGain = set.becomes, set.chance, set.gain
	out.SetHours, out.SetCost, out.SetCostUnknown = set.hours, set.cost, set.costUnknown
	out.SetKGLost = (1 - set.factor) * a.c.KG.Float()
}

// measureFirst weighs measuring again. It changes no grain; its worth is what
// it saves or finds. If there is a mending to do, that is the chance that the
// lot already has a better grade, times the cost of the mending in work, fee
// and weight. If there is none, it is that chance times the worth of the better
// grade over the stated one. The work of measuring is subtracted from both: an
// hour, or longer if settling the grade takes longer.
func (a *advisor) measureFirst(set *weighed) bool {
	o := a.option(MeasureAgain)
	if !a.res.Borderline {
		o.Reason = NotClose
		return false
	}
	o.Because = a.closest()
	asked := o.Because.Parameter
	if settle := a.res.SettleUp; settle != nil {
		more := settle.Beside(a.r)
		asked = settle.Parameter
		o.More, o.Hours = &more, max(o.Hours, settle.Minutes/60)
		o.Cost = a.c.Settings.Wages(o.Hours)
	}
	if water := MoistureParameter(a.s); water != nil && asked == water.ID {
		noTest(o)
	}
	if set != nil && set.dries() && a.tooWetToKeep() || a.alive() { // damp grain and insects get worse while it is measured
		o.Reason = AfterUrgent
		return false
	}
	cost := 0.0
	if a.market.known {
		cost = o.Cost
	}
	bar := a.worth()
	if set != nil {
		o.Gain = set.gain - cost
		if a.market.known {
			o.Gain += a.res.Better * (set.cost + (1-set.factor)*a.money)
		}
		bar += set.gain
	} else {
		o.Gain = a.res.Better*a.stepUp() - cost
		if !a.market.known {
			bar = a.worthMeasuring
		}
	}
	if o.Reason = NoGain; set != nil && o.Gain >= a.worth() {
		o.Reason = LessGain
	}
	return o.Gain > bar
}

// noTest says that bite and salt are no proof, of an option that asks for moisture.
func noTest(o *Option) { o.Cautions = append(slices.Clip(o.Cautions), HandTestsAreNot) }

// dries reports whether drying is among the remedies of the set.
func (w *weighed) dries() bool {
	return slices.ContainsFunc(w.remedies[:w.count], func(r *Remedy) bool { return r.Dries })
}

// stepUp is what one grade better than stated is worth: money, or one step.
func (l *lot) stepUp() float64 {
	if l.res.Rank <= 1 {
		return 0
	}
	if !l.market.known {
		return 1
	}
	last := len(l.market.prices)
	up, here := min(l.res.Rank-1, last-1), min(l.res.Rank, last)
	return (l.market.prices[up-1] - l.market.prices[here-1]) * l.market.kg
}

// closest is the deciding parameter that most likely meets the next limit.
func (l *lot) closest() Because {
	var found *g.ParameterResult
	for _, id := range l.res.Deciding {
		if p := l.res.Parameter(id); p != nil && p.Measured && (found == nil || p.MeetsNext > found.MeetsNext) {
			found = p
		}
	}
	if found == nil {
		return Because{}
	}
	return becauseOf(found, l.res.Of, Because{})
}

package advice

import (
	"cmp"
	"slices"

	g "threshline/grading"
	"threshline/grading/chance"
)

// What is worth doing. Source: our choice, [ASSUMED-ADVICE]: less than this is
// within what a hand kit cannot tell.
const (
	// WorthSteps is the least expected gain in grade steps.
	WorthSteps = 0.1
	// WorthMeasuring is the least expected gain, in grade steps, of measuring
	// again: a recount is an hour's work.
	WorthMeasuring = 0.2
	// WorthShare is the least expected gain as a share of the lot's money.
	WorthShare = 0.005
)

// workDay is the hours that a day's wage pays for; assumed, [ASSUMED-ADVICE].
const workDay = 8

// state is a lot as it would be.
type state struct {
	factor   float64
	moisture g.Decimal
	outlook  outlook
}

// worth is the least gain that counts.
func (l *lot) worth() float64 {
	if l.market.known {
		return l.worthShare * l.money
	}
	return l.worthSteps
}

// step does one remedy to a state's readings, without grading them.
func (a *weigher) step(rem *Remedy, r *g.Readings, l level, passes int) (g.Readings, float64, bool) {
	if rem.Dries {
		if !a.hasTarget {
			return *r, 1, false
		}
		if r != a.r {
			return dried(a.s, r, a.target)
		}
		if a.dry.factor == 0 {
			a.dry.readings, a.dry.factor, a.dry.applies = dried(a.s, r, a.target)
		}
		return a.dry.readings, a.dry.factor, a.dry.applies
	}
	return taken(a.s, r, rem, l, passes)
}

// graded grades readings as they would be.
func (a *weigher) graded(r g.Readings, factor float64) (state, bool) {
	a.trial = r
	would, err := a.assessor.Try(&a.trial)
	if err != nil {
		return state{}, false
	}
	st := state{factor: factor, outlook: a.outlook(&would)}
	if a.market.known {
		st.moisture, _ = MoistureOf(a.s, &a.trial)
	}
	return st, true
}

// outlook keeps what a trial found.
func (a *weigher) outlook(would *chance.Trial) outlook {
	return outlook{upTo: a.keepChances(would.OrBetter), rank: would.Rank, label: would.Grade}
}

// assessed reports whether a result carries chances.
func assessed(res *g.Result) bool {
	return slices.ContainsFunc(res.Parameters, func(p g.ParameterResult) bool { return p.Measured && p.ByRank != nil })
}

// Certainty is what grading is to know of the kit and of the place's lots, for
// chances that agree with those of the advice.
func (s Settings) Certainty() chance.Certainty {
	return chance.Certainty{MeterRepeatability: s.MeterRepeatability.Float(), ScaleStep: s.ScaleStep.Float(), Usual: s.Usual}
}

// gain is what a state is worth above the lot as it is: money, or grade steps.
func (l *lot) gain(st *state) float64 {
	if !l.market.known {
		return l.now.meanRank() - st.outlook.meanRank()
	}
	return l.market.money(&st.outlook, st.factor, st.moisture) - l.money
}

// weighed is one remedy, or a set of them, with its figures.
type weighed struct {
	gain, chance   float64
	becomes        g.GradeLabel
	rank           int
	factor         float64
	passes         int    // of the first remedy
	more           [3]int // passes of each, in a set
	cost, hours    float64
	sunHours       float64 // of hours, those of spreading in the sun
	dueDays        int
	costUnknown    bool
	remedies       [3]*Remedy
	mid            state // at the middle effects
	count          int
	brief          bool // no more is known than that it is not worth doing
	practicalOrder int
}

// weigh works out one remedy done passes times, over the three levels of its
// effect. ok is false when it does not apply.
func (a *weigher) weigh(rem *Remedy, passes int) (w weighed, ok bool) {
	w.remedies[0], w.count, w.passes = rem, 1, passes
	var states [3]state
	for l := low; l <= high; l++ {
		if rem.Dries && l != mid {
			continue
		}
		after, factor, applies := a.step(rem, a.r, l, passes)
		if !applies {
			if l == mid {
				return w, false
			}
			after, factor = *a.r, 1
		}
		if states[l], ok = a.graded(after, factor); !ok {
			return w, false
		}
	}
	if rem.Dries {
		states[low], states[high] = states[mid], states[mid]
	}
	a.average(&w, &states)
	a.charge(&w, rem, passes)
	return w, true
}

// average takes the states of the three levels together.
func (a *weigher) average(w *weighed, states *[3]state) {
	w.becomes, w.rank, w.factor = states[mid].outlook.label, states[mid].outlook.rank, states[mid].factor
	for l := range states {
		w.gain += weights[l] * a.gain(&states[l])
		w.chance += weights[l] * states[l].outlook.atLeast(w.rank)
	}
}

// charge adds a remedy's work and money.
func (l *lot) charge(w *weighed, rem *Remedy, passes int) {
	hours, fee, known := l.c.Settings.Costs(rem, 1, l.c.KG, l.c.District)
	if hours *= float64(passes); rem.InSun {
		hours, w.sunHours = max(hours-w.sunHours, 0), max(hours, w.sunHours)
	}
	cost := l.c.Settings.Wages(hours)
	w.costUnknown = w.costUnknown || !known
	cost += fee * float64(passes)
	w.hours += hours
	w.cost += cost
	w.dueDays = max(w.dueDays, l.due(rem))
	if l.market.known {
		w.gain -= cost
	}
}

// fee is what is paid for a remedy besides work, and whether that is known.
func (l *lot) fee(rem *Remedy) (fee float64, known bool) {
	_, fee, known = l.c.Settings.Costs(rem, 1, l.c.KG, l.c.District)
	return fee, known
}

// tariff is what is paid for the remedy in the lot's district.
func (l *lot) tariff(rem *Remedy) (Tariff, bool) {
	return l.c.Settings.Tariff(cmp.Or(rem.PaidAs, rem.ID), l.c.District)
}

// due is by when a remedy is to be done, days.
func (l *lot) due(rem *Remedy) int {
	if rem.Dries {
		return l.dryWithin()
	}
	return rem.DueDays
}

// weighPasses weighs a remedy once, and again for each further pass that adds
// enough to be worth it.
func (a *weigher) weighPasses(rem *Remedy) (weighed, bool) {
	best, ok := a.weigh(rem, 1)
	for passes := 2; ok && passes <= rem.Passes && a.canAdd(rem.fields(), &best); passes++ {
		if a.fallsShort([]*Remedy{rem}, []int{passes}, best.gain+a.worth()) {
			break
		}
		more, possible := a.weigh(rem, passes)
		if !possible || more.gain <= best.gain+a.worth() {
			break
		}
		best = more
	}
	return best, ok
}

// weighMid weighs remedies done one after the other, at their middle effects only, to
// choose among sets.
func (a *weigher) weighMid(rems []*Remedy, passes []int) (w weighed, ok bool) {
	at, ok := a.graded(a.steps(rems, passes, mid))
	if !ok {
		return w, false
	}
	return a.weighStates(rems, passes, &[3]state{at, at, at}), true
}

// weighSet weighs remedies done one after the other, each at its low, at its middle
// and at its high effect together. A middle state that is known already, of a factor
// over 0, is taken as it is.
func (a *weigher) weighSet(rems []*Remedy, passes []int, known state) (w weighed, ok bool) {
	states := [3]state{mid: known}
	for l := low; l <= high; l++ {
		if states[l].factor > 0 {
			continue
		}
		if states[l], ok = a.graded(a.steps(rems, passes, l)); !ok {
			return w, false
		}
	}
	return a.weighStates(rems, passes, &states), true
}

// weighStates is a set of remedies of which the states at all levels are known.
func (a *weigher) weighStates(rems []*Remedy, passes []int, states *[3]state) (w weighed) {
	a.average(&w, states)
	for i, rem := range rems {
		a.charge(&w, rem, passes[i])
		w.remedies[i], w.more[i] = rem, passes[i]
	}
	w.count, w.passes, w.mid = len(rems), passes[0], states[mid]
	return w
}

// steps does remedies one after the other to the lot.
func (a *weigher) steps(rems []*Remedy, passes []int, l level) (readings g.Readings, factor float64) {
	r := a.r
	factor = 1
	for i, rem := range rems {
		if after, f, applies := a.step(rem, r, l, passes[i]); applies {
			readings, factor = after, factor*f
			r = &readings
		}
	}
	return *r, factor
}

// fallsShort reports whether a set does not come near a gain even with the chances of
// its high effect and the weight that its low effect leaves, so that it need not be
// weighed in full. Near is a fifth of what is worth it: what is taken out raises the
// share of all the rest, by far less.
func (a *weigher) fallsShort(rems []*Remedy, passes []int, gain float64) bool {
	most, ok := a.graded(a.steps(rems, passes, high))
	if !ok {
		return false
	}
	if a.market.known {
		_, heavy := a.steps(rems, passes, low)
		most.factor = max(most.factor, heavy)
	}
	w := weighed{gain: a.gain(&most)}
	for i, rem := range rems {
		a.charge(&w, rem, passes[i])
	}
	return w.gain+a.worth()/5 <= gain
}

// each is how many passes the i-th remedy of a set takes.
func (w *weighed) each(i int) int {
	if i == 0 {
		return max(w.passes, 1)
	}
	return max(w.more[i], 1)
}

package advice

import (
	"math"
	"slices"

	g "threshline/grading"
)

// WayID names one thing to do with a lot.
type WayID string

// The ways, in the order in which they are said.
const (
	SellNow   WayID = "sell"
	MendFirst WayID = "mend"
	DryFirst  WayID = "dry"
	BothFirst WayID = "both" // dry and mend
	KeepIt    WayID = "keep"
)

// Way is one thing to do with a lot before it is sold, and what that leaves.
type Way struct {
	ID WayID
	// Set is what is done first, in order; empty where nothing is.
	Set         []RemedyID
	Becomes     g.GradeLabel
	BecomesRank int
	Target      g.Decimal // % wet basis, where Set dries; else 0
	// Money is what the lot is expected to fetch at the prices in force, net of
	// work, fees and the weight that goes; good only where Known.
	Money float64
	// Known is false where a price or a fee is not known.
	Known bool
	// Rise is by how many percent the price of KeepIt has to rise before keeping
	// leaves as much as the best other way; good only where Known.
	Rise float64
}

// Ways compares what can be done with a lot.
type Ways struct {
	List []Way
	// Best is the place in List of the best at the prices in force, or by grade
	// where InMoney is false; -1 where something stops the lot.
	Best    int
	InMoney bool
	// First is what comes before any of them: measuring again, or what to do about
	// the sign that stops the lot; "" nothing.
	First RemedyID
	// Spoils says that the lot gets worse while it waits: Best is what saves it,
	// whatever it leaves.
	Spoils bool
}

// KeptDays is how long the comparison keeps a lot, days: the longest that the
// table of [IRRI-STORE] allows at 14 %. Source: our choice, [ASSUMED-ADVICE].
const KeptDays = 120

// WaysFor compares selling a lot now, mending it, drying it and keeping it, by
// the same sums as Advise, so that the best is what Advise says where that acts
// on this lot. What brings less than WorthShare is no way of its own. Keeping is
// compared at today's price, since nobody knows a later one. Where a sign stops
// the lot, or it has no grade yet, nothing is compared; readings that grading refuses give no ways.
func WaysFor(c Case) Ways {
	out := Ways{Best: -1}
	var a advisor
	if a.adopt(c.Standard, &c.Settings) != nil || !a.begin(&c) {
		return out
	}
	adv := a.advise()
	weevils, others := a.insects()
	switch {
	case adv.Best.Band == SafetyBand, len(a.res.Gates) > 0 && !a.wetAlone(), a.res.Grade == g.NoGrade, a.res.Grade == g.WetLot:
		out.First = adv.Best.Remedy
		return out
	case weevils+others > 0:
		out.First = ClearInsects
		return out
	}
	out.InMoney = a.market.known
	if adv.Best.Band == MeasureBand && adv.Best.Remedy == MeasureAgain {
		out.First = MeasureAgain
	}
	out.List = append(out.List, Way{
		ID: SellNow, Becomes: a.res.Grade, BecomesRank: a.res.Rank, Money: a.money, Known: a.market.known || a.priced(a.res.Grade),
	})
	if set, ok := a.cleaning(); ok && (a.chosen.count == 0 || a.chosen.dries()) {
		out.add(a.way(MendFirst, &set))
	} else if a.chosen.count > 0 && !a.chosen.dries() {
		out.add(a.way(MendFirst, &a.chosen))
	}
	if set, ok := a.drying(&adv); ok {
		out.add(a.way(DryFirst, &set))
	}
	if chosen := a.chosen; chosen.count > 1 && chosen.dries() {
		out.add(a.way(BothFirst, &chosen))
	}
	out.Best = a.bestWay(out.List, &adv)
	out.Spoils = adv.Best.Band == SpoilBand && out.Best > 0
	if keep, ok := a.keeping(&out.List[out.Best], &adv); ok {
		out.List = append(out.List, keep)
	}
	return out
}

// add takes a way that is not there yet under another name.
func (w *Ways) add(way Way) {
	if !slices.ContainsFunc(w.List, func(x Way) bool { return slices.Equal(x.Set, way.Set) }) {
		w.List = append(w.List, way)
	}
}

// wetAlone reports whether every gate that holds is about moisture alone:
// drying opens it.
func (a *weigher) wetAlone() bool {
	for i := range a.s.Gates {
		gate := &a.s.Gates[i]
		p := MoistureParameter(a.s)
		if slices.Contains(a.res.Gates, gate.ID) && (p == nil || gate.Parameter != p.ID) {
			return false
		}
	}
	return true
}

// priced reports whether it is known what a grade fetches.
func (a *weigher) priced(label g.GradeLabel) bool {
	if _, ok := a.c.Settings.Prices[label]; ok {
		return true
	}
	return a.s.Rank(label) > len(a.s.Grades) && a.c.Settings.OutPrice > 0
}

// way is a weighed set as a way.
func (a *weigher) way(id WayID, w *weighed) Way {
	out := Way{
		ID: id, Becomes: w.becomes, BecomesRank: w.rank, Money: a.money + w.gain,
		Known: !w.costUnknown && (a.market.known || a.priced(w.becomes)),
	}
	for _, rem := range w.remedies[:w.count] {
		out.Set = append(out.Set, rem.ID)
		if rem.Dries {
			out.Target = a.target
		}
	}
	return out
}

// cleaning is the best set that takes something out of the lot and dries
// nothing; one that acts on what holds the grade down is named even where it
// costs more than it brings.
func (a *advisor) cleaning() (weighed, bool) {
	var clean []weighed
	for i := range a.list {
		if !a.list[i].remedies[0].Dries {
			clean = append(clean, a.list[i])
		}
	}
	var best *weighed
	if len(clean) > 0 && clean[0].gain >= a.worth() {
		best = &clean[0]
	}
	if set, ok := a.firstSet(best, clean); ok {
		return set, true
	}
	for i := range clean {
		if w := &clean[i]; a.actsOnDeciding(w.remedies[0]) && !a.nextToNothing(w.gain) {
			return *w, true
		}
	}
	return weighed{}, false
}

// drying is the best drying by itself: what Advise says, or what is worth it.
func (a *advisor) drying(adv *Advice) (weighed, bool) {
	for i := range a.list {
		if w := &a.list[i]; w.remedies[0].Dries && (w.remedies[0].ID == adv.Best.Remedy || !a.nextToNothing(w.gain)) {
			return *w, true
		}
	}
	return weighed{}, false
}

// nextToNothing tells a gain in money that a hand kit cannot tell from none.
func (l *lot) nextToNothing(gain float64) bool {
	return l.market.known && gain > 0 && gain < l.worth()
}

// bestWay is what Advise chose for this lot, or else the way that leaves most;
// without prices the one with the best grade.
func (l *lot) bestWay(list []Way, adv *Advice) int {
	best := 0
	for i := range list {
		w := &list[i]
		if len(w.Set) > 0 && slices.Equal(w.Set, adv.Set) {
			return i
		}
		switch b := &list[best]; {
		case !w.Known && l.market.known:
		case l.market.known && w.Money > b.Money, !l.market.known && w.BecomesRank < b.BecomesRank:
			best = i
		}
	}
	return best
}

// keeping is to keep the lot KeptDays, as good as the way before leaves it; false
// where nobody knows how damp it is.
func (a *advisor) keeping(before *Way, adv *Advice) (Way, bool) {
	if !a.hasWater {
		return Way{}, false
	}
	out := Way{ID: KeepIt, Set: slices.Clone(before.Set), Target: before.Target, Known: before.Known}
	var w weighed
	if len(before.Set) > 0 {
		w = a.setOf(before, adv)
	}
	after, factor := *a.r, 1.0
	for i, rem := range w.remedies[:w.count] {
		if next, f, applies := a.step(rem, &after, mid, w.each(i)); applies {
			after, factor = next, factor*f
		}
	}
	sold, ok := a.graded(after, factor)
	if !ok {
		return Way{}, false
	}
	work := w.cost
	limit := KeepTarget(Food, KeptDays)
	if m, ok := MoistureOf(a.s, &after); ok && m > limit {
		next, f, applies := dried(a.s, &after, limit)
		if !applies {
			return Way{}, false
		}
		after, factor, out.Target = next, factor*f, limit
		if by := RemedyOf(a.dryer()); !slices.Contains(out.Set, by.ID) {
			out.Set = append(out.Set, by.ID)
			a.charge(&w, by, 1)
		}
	}
	m, _ := MoistureOf(a.s, &after)
	if !a.c.At.IsZero() {
		if k := KeepingThrough(a.c.Settings.Climate, m, a.c.At.Month(), KeptDays); k.Known && !k.CanStay {
			out.Set = append(out.Set, Hermetic)
			a.charge(&w, RemedyOf(Hermetic), 1)
		}
	}
	st, ok := a.graded(after, factor)
	if !ok {
		return Way{}, false
	}
	out.Becomes, out.BecomesRank = st.outlook.label, st.outlook.rank
	if out.Known = out.Known && !w.costUnknown; a.market.known {
		gross := a.market.money(&st.outlook, factor, st.moisture)
		less := a.market.money(&sold.outlook, sold.factor, sold.moisture) - gross + w.cost - work
		out.Money = before.Money - less
		out.Rise = math.Max(0, 100*less/math.Max(gross, 1))
	}
	return out, true
}

// setOf is the weighed set that a way stands for.
func (a *advisor) setOf(way *Way, adv *Advice) weighed {
	if set := a.chosen; set.count == len(way.Set) && set.remedies[0].ID == way.Set[0] {
		return set
	}
	if way.ID == DryFirst {
		set, _ := a.drying(adv)
		return set
	}
	set, _ := a.cleaning()
	return set
}

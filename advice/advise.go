package advice

import (
	"cmp"
	"math"
	"slices"

	g "threshline/grading"
)

// Advise says which one remedy is most worth doing about the case's lot, and
// why each of the others lost. It takes the first band, in the order of the
// Bands, that has something to do:
//
//   - SafetyBand by what was seen or smelt, whatever it costs;
//   - SpoilBand when the moisture is over SpoilsAbove, or the lot is Infested or
//     refused for its live insects;
//   - MendBand, the largest expected gain of those over WorthSteps or
//     WorthShare; in a set of two or three where further remedies add that
//     much again;
//   - MeasureBand when the grade is borderline and measuring again is expected
//     to be worth more than the best mending;
//   - SpoilBand once more, for a lot too damp to keep that no mending betters, and
//     for one in which any insect lives;
//   - SeasonBand when the cause lies before this lot: what holds it down twice
//     in the last checks first;
//   - KeepBand.
//
// The expected gain is taken over the chances that grading gives for the lot
// as it is and as it would be. Readings that grading refuses give a zero
// Advice: the caller has them corrected first.
func Advise(c Case) Advice {
	var one Adviser
	return one.Advise(&c)
}

// advise decides on the case that was begun.
func (a *advisor) advise() Advice {
	out := a.decide()
	a.rank(&out)
	return out
}

// decide is advise that puts nothing in order: it leaves the figures and the reason of
// every remedy in its option.
func (a *advisor) decide() Advice {
	out := a.choice()
	a.besides(&out)
	a.reasons(&out)
	return out
}

// choice decides what is most worth doing.
func (a *advisor) choice() Advice {
	a.describeAnew()
	mends := a.mends()
	var out Advice
	switch {
	case a.safety(&out), a.spoil(&out, mends), a.mend(&out, mends), a.dampAndHeldDown(&out), a.infested(&out), a.season(&out):
	default:
		a.keep(&out)
	}
	a.sealLast(&out)
	return out
}

// describeAnew leaves the options of the last case to be described anew.
func (a *advisor) describeAnew() {
	for i := range a.options {
		a.options[i].Passes = 0
	}
}

// optionAt is the option of the remedy at a place of the table: described when it is
// first asked for, before we know whether the lot needs it.
func (a *advisor) optionAt(i int) *Option {
	o := &a.options[i]
	if o.Passes == 0 {
		a.describe(o, &table[i])
	}
	return o
}

func (a *advisor) describe(o *Option, rem *Remedy) {
	hours, fee, known := a.c.Settings.Costs(rem, 1, a.c.KG, a.c.District)
	*o = Option{
		Remedy: rem.ID, When: rem.When, Band: rem.Band, Reason: NotFound,
		Becomes: a.res.Grade, BecomesRank: a.res.Rank, BecomesChance: a.now.atLeast(a.res.Rank),
		InMoney: a.market.known && rem.When == ThisLot, Passes: 1, Cost: a.c.Settings.Wages(hours) + fee, CostUnknown: !known,
		Hours: hours, DueDays: a.due(rem), Cautions: rem.Cautions, Source: rem.Source,
	}
	if t, _ := a.tariff(rem); t.PerDay > 0 {
		o.Days = int(math.Ceil(a.c.KG.Float() / t.PerDay.Float()))
	}
	if rem.Dries {
		o.Target = a.target
	}
	if o.DueDays >= 0 {
		o.AgainDays = max(o.DueDays, 1) + rem.Lasts
	}
	if slices.Contains(a.r.Flags, g.Warm) && !slices.Contains(o.Cautions, NotEaten) {
		o.Cautions = append(slices.Clip(o.Cautions), NotEaten)
	}
}

// option finds a remedy's option.
func (a *advisor) option(id RemedyID) *Option {
	for i := range table {
		if table[i].ID == id {
			return a.optionAt(i)
		}
	}
	return nil
}

// choose makes a remedy the best.
func (a *advisor) choose(out *Advice, id RemedyID, why ReasonID) bool {
	o := a.option(id)
	o.Reason = why
	a.answer(o)
	out.Best, out.Steps, out.Set = *o, 1, []RemedyID{id}
	out.SetBecomes, out.SetChance, out.SetGain = o.Becomes, o.BecomesChance, o.Gain
	out.SetHours, out.SetCost, out.SetCostUnknown, out.SetKGLost = o.Hours, o.Cost, o.CostUnknown, o.KGLost
	out.Incomplete = !a.res.Complete
	return true
}

// answer sets what an option mends, unless that is set already.
func (a *weigher) answer(o *Option) {
	if o.Because == (Because{}) {
		o.Because = a.because(RemedyOf(o.Remedy))
	}
}

// because finds what a remedy mends. Of the parameters that it changes or is
// about, it takes a deciding one first, then the worst one. If a gate calls for
// the remedy, it takes that gate.
func (a *weigher) because(rem *Remedy) Because {
	var found *g.ParameterResult
	decides := false
	fields := rem.calls()
	for i := range a.res.Parameters {
		p := &a.res.Parameters[i]
		j := a.place(i, p.ID)
		if !p.Measured || j < 0 || a.made[j].fields&fields == 0 {
			continue
		}
		if d := slices.Contains(a.res.Deciding, p.ID); found == nil || d && !decides || d == decides && p.Rank > found.Rank {
			found, decides = p, d
		}
	}
	b := Because{Gate: a.gateFor(rem)}
	if found == nil || b.Gate != "" && !decides {
		return b // nothing measured, or the gate alone
	}
	if b = becauseOf(found, a.res.Of, b); !b.HasLimit {
		b.Limit, b.HasLimit = gateMax(a.s, b.Parameter)
	}
	return b
}

// becauseOf gives the limit that the parameter has to meet to do better: its
// own when it is out of grade or in the best, else the next grade's.
func becauseOf(p *g.ParameterResult, of int, b Because) Because {
	b.Parameter, b.Value = p.ID, p.Shown
	limit := p.Next
	if limit == nil || p.Rank > of {
		limit = p.Limit
	}
	if limit != nil {
		b.Limit, b.HasLimit = *limit, true
	}
	return b
}

// gateFor is the gate of the result that the remedy's flags or insects raise,
// or the flag itself where the standard has no gate for it.
func (a *weigher) gateFor(rem *Remedy) string {
	for _, f := range rem.Flags {
		if !slices.Contains(a.r.Flags, f) {
			continue
		}
		for i := range a.s.Gates {
			if slices.Contains(a.s.Gates[i].Flags, f) {
				return a.s.Gates[i].ID
			}
		}
		return string(f)
	}
	for i := range a.s.Gates {
		gate := &a.s.Gates[i]
		if !slices.Contains(a.res.Gates, gate.ID) {
			continue
		}
		if gateFields(gate)&rem.calls() != 0 {
			return gate.ID
		}
	}
	return ""
}

// gateFields are the fields that a gate looks at.
func gateFields(gate *g.Gate) (set fieldSet) {
	if gate.Insects != nil {
		set = bit(g.LiveWeevils) | bit(g.LiveOthers)
	}
	return set | g.SetOf(gate.Fields...)
}

// reasons says why each remedy lost.
func (a *advisor) reasons(out *Advice) {
	best := out.Best
	for i := range a.options {
		o := a.optionAt(i)
		if o.Remedy != best.Remedy && o.Reason == NotFound {
			a.waits(o)
		}
		if o.Remedy == best.Remedy || o.Reason != Mends {
			continue
		}
		switch {
		case best.Band < o.Band && best.Band < MendBand:
			o.Reason = AfterUrgent
		case o.Gain < a.worth():
			o.Reason = NoGain
		case o.Gain >= best.Gain-g.Rounding:
			o.Reason = Dearer
		default:
			o.Reason = LessGain
		}
		if slices.Contains(out.Set, o.Remedy) {
			o.Reason = StepOfSet
		}
	}
}

// rank puts the options in order, best first, each with what it mends.
func (a *advisor) rank(out *Advice) {
	a.order = a.order[:0]
	for i := range a.options {
		o := a.optionAt(i)
		a.answer(o)
		a.order = append(a.order, ranking{place(out, o), dead(o.Reason), o.Band, o.Gain, i})
	}
	slices.SortFunc(a.order, ranking.compare)
	a.ranked = a.ranked[:0]
	for _, at := range a.order {
		a.ranked = append(a.ranked, a.options[at.option])
	}
	out.Considered = a.ranked
}

// ranking is what an option's place among all is decided by.
type ranking struct {
	place  int // in the set
	dead   int // nothing calls for it
	band   Band
	gain   float64
	option int
}

func (x ranking) compare(y ranking) int {
	return cmp.Or(x.place-y.place, x.dead-y.dead, cmp.Compare(x.band, y.band), cmp.Compare(y.gain, x.gain), x.option-y.option)
}

// waits sets the reason for remedies that fit any lot and only wait for those
// that come before them.
func (l *lot) waits(o *Option) {
	switch rem := RemedyOf(o.Remedy); {
	case rem.Waits:
		o.Reason = AfterUrgent
	case rem.Measures:
		o.Reason = NotClose
		if l.res.Borderline {
			o.Reason = AfterUrgent
		}
	case rem.Insects == InsectsSeen && len(rem.Flags) == 0: // insects alone call for it
		switch weevils, others := l.insects(); {
		case weevils+others > 0:
			o.Reason = AfterUrgent
		case !l.r.Has(g.LiveWeevils) && !l.r.Has(g.LiveOthers):
			o.Reason = NotMeasured
		}
	}
}

// place is an option's place in the chosen set, else after it.
func place(out *Advice, o *Option) int {
	if i := slices.Index(out.Set, o.Remedy); i >= 0 {
		return i
	}
	if o.Remedy == out.Meanwhile || o.Remedy == out.Season {
		return len(out.Set)
	}
	return len(out.Set) + 1
}

// dead returns 1 for a remedy that was never in question, else 0.
func dead(r ReasonID) int {
	switch r {
	case NotFound, NotMeasured, NotOffered, LotTooLarge, NotClose:
		return 1
	}
	return 0
}

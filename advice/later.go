package advice

import (
	"cmp"
	"slices"

	g "threshline/grading"
)

// seasonal is one season remedy, weighed.
type seasonal struct {
	rem     *Remedy
	gain    float64 // grade steps of the next lot
	found   bool    // the lot holds some of what it acts on
	decides bool    // it acts on what holds this lot down
	recurs  int     // how often that held a lot down: this one and the last three
}

// seasons weighs the season remedies: those that would make a lot like r, of
// the outlook now, better, and those for what recurs, best first. A lot with a
// remedy of its own is taken as it is after that remedy: what the remedy mends
// needs no better season. What was deciding twice or more comes first, then the
// larger gain, then the table's order.
func (a *advisor) seasons(r *g.Readings, now *outlook) []seasonal {
	list := a.coming[:0]
	for i := range nextSeason {
		rem := &table[len(thisLot)+i]
		if from := a.origin(); rem.From != "" && from != "" && rem.From != from {
			continue
		}
		s := seasonal{rem: rem, decides: a.decides(rem)}
		s.recurs = a.recurs(rem, s.decides)
		after, _, applies := taken(a.s, r, rem, mid, 1)
		if s.found = applies; applies {
			a.option(rem.ID).Reason = NoGain
		}
		if applies && len(a.res.Deciding) > 0 && (r != a.r && a.open(rem.fields()) >= a.worthSteps || r == a.r && a.ceilingSteps(rem.fields()) >= a.worthSteps) {
			if st, ok := a.graded(after, 1); ok {
				s.gain = now.meanRank() - st.outlook.meanRank()
				a.expect(rem, &st, s.gain)
			}
		}
		if s.decides || s.recurs >= 2 || s.gain >= a.worthSteps {
			list = append(list, s)
		}
	}
	slices.SortStableFunc(list, func(x, y seasonal) int {
		if xr, yr := x.recurs >= 2, y.recurs >= 2; xr != yr {
			if xr {
				return -1
			}
			return 1
		}
		return compareGains(y.gain, x.gain)
	})
	a.coming = list
	return list
}

// origin is where pests did their damage, as far as the lot shows it: live
// insects come from the store; a lot that is still as wet as in the field was
// not in a store.
func (l *lot) origin() Origin {
	switch {
	case l.alive():
		return FromStore
	case l.hasWater && l.moisture > MicrobesAbove:
		return FromField
	}
	return ""
}

// expect puts what a like lot would be into the remedy's option.
func (a *advisor) expect(rem *Remedy, st *state, gain float64) {
	o := a.option(rem.ID)
	o.Becomes, o.BecomesRank = st.outlook.label, st.outlook.rank
	o.BecomesChance, o.Gain = st.outlook.atLeast(st.outlook.rank), gain
}

// decides reports whether the remedy acts on something found in the lot that a
// deciding parameter is made of, or on live insects.
func (a *weigher) decides(rem *Remedy) bool {
	for _, id := range a.res.Deciding {
		i := a.index(id)
		if i < 0 {
			continue
		}
		for _, f := range (a.made[i].fields & rem.calls()).Fields() {
			if d, ok := a.r.Get(f); ok && d > 0 || givenFor(a.s, a.r, f) {
				return true
			}
		}
	}
	return a.gateFor(rem) != "" || rem.From == FromStore && a.alive()
}

// recurs is how many checks, this one and the last three, one and the same
// parameter held down that the remedy acts on: the largest such count. A
// parameter made of several things counts only when this lot shows that it is
// the remedy's.
func (a *weigher) recurs(rem *Remedy, decides bool) int {
	most := 0
	for i := range a.s.Parameters {
		id, fields := a.s.Parameters[i].ID, a.made[i].fields
		if fields&rem.calls() == 0 || !decides && fields&^rem.calls() != 0 {
			continue
		}
		n := 0
		if decides && slices.Contains(a.res.Deciding, id) {
			n++
		}
		for _, past := range a.c.History[:min(len(a.c.History), 3)] {
			if slices.Contains(past.Deciding, id) {
				n++
			}
		}
		most = max(most, n)
	}
	return most
}

// season chooses a season remedy if one acts on what holds the lot down, and
// says what to do with the lot meanwhile.
func (a *advisor) season(out *Advice) bool {
	if len(a.res.Deciding) == 0 {
		return false
	}
	chosen := false
	for _, s := range a.seasons(a.r, &a.now) {
		if !s.decides && s.gain < a.worthSteps && !(s.found && s.recurs >= 2) {
			continue
		}
		why := FixesCause
		if s.recurs >= 2 {
			why = Recurs
		}
		if chosen {
			a.option(s.rem.ID).Reason = second(s, out.Best.Reason)
			continue
		}
		chosen = a.choose(out, s.rem.ID, why)
		out.Meanwhile = a.meanwhile(s.rem)
		a.option(out.Meanwhile).Reason = HandlesThisLot
	}
	return chosen
}

// second is the reason why a season remedy is not the first.
func second(s seasonal, first ReasonID) ReasonID {
	if first == Recurs && s.recurs < 2 {
		return OnceOnly
	}
	return LessGain
}

// meanwhile is what to do with a lot when only the next season can be better.
func (l *lot) meanwhile(rem *Remedy) RemedyID {
	if l.res.OutOfGrade() && rem.MeanwhileOut != "" {
		return rem.MeanwhileOut
	}
	return cmp.Or(rem.Meanwhile, SellAsIs)
}

// besides names the season remedy to add to the advice for this lot.
func (a *advisor) besides(out *Advice) {
	if out.Best.When == NextSeason {
		return
	}
	r, now := a.left()
	for i, s := range a.seasons(r, now) {
		o := a.option(s.rem.ID)
		switch {
		case i > 0:
			o.Reason = second(s, a.option(out.Season).Reason)
		case s.recurs >= 2:
			out.Season, o.Reason = s.rem.ID, Recurs
		default:
			out.Season, o.Reason = s.rem.ID, FixesCause
		}
	}
}

// left is the lot after the set that was chosen, as far as that changes it.
func (a *weigher) left() (*g.Readings, *outlook) {
	after := *a.r
	for i, rem := range a.chosen.remedies[:a.chosen.count] {
		if next, _, applies := a.step(rem, &after, mid, a.chosen.each(i)); applies {
			after = next
		}
	}
	if st, ok := a.graded(after, 1); ok && a.chosen.count > 0 {
		return &after, &st.outlook
	}
	return a.r, &a.now
}

// keep chooses how to keep what the lot is worth.
func (a *advisor) keep(out *Advice) {
	water := a.water()
	a.option(KeepWell).Because = water
	a.option(SellAsIs).Because = a.closest()
	damp, wets := a.getsDamp()
	switch {
	case a.res.Grade == g.NoGrade: // nobody knows what it would be sold as
		noTest(a.option(MeasureAgain))
		a.choose(out, MeasureAgain, Unmeasured)
	case len(a.res.Deciding) > 0 || a.res.OutOfGrade():
		a.choose(out, SellAsIs, a.whySell())
	case !a.hasWater:
		noTest(a.option(MeasureAgain))
		a.choose(out, MeasureAgain, Unmeasured)
	case a.tooWetToKeep():
		a.dryToKeep(out, Keeps)
	case a.moisture < overDryBelow(a.c.Use, a.c.KeepDays):
		water.Limit, water.HasLimit = overDryBelow(a.c.Use, a.c.KeepDays), true
		a.option(StopDrying).Because = water
		a.choose(out, StopDrying, Keeps)
	case wets:
		water.Limit, water.HasLimit = g.Decimal(damp.Mid()*float64(g.One)).Round(1), true
		a.option(Hermetic).Because = water
		a.choose(out, Hermetic, Keeps)
	case a.r.Unlooked(): // what nobody looked at is not praised
		a.choose(out, LookFirst, Unlooked)
	default:
		a.choose(out, KeepWell, Keeps)
	}
}

// whySell returns why to sell as it is: no remedy mends the lot, or mending
// costs more than it gains.
func (a *advisor) whySell() ReasonID {
	a.inFull(a.list)
	for i := range a.options {
		if o := a.optionAt(i); o.Reason == Mends && o.BecomesRank < a.res.Rank {
			return NotWorthIt
		}
	}
	return NothingToMend
}

// water is the lot's moisture, rounded as the standard shows it.
func (a *weigher) water() Because {
	if p := MoistureParameter(a.s); p != nil {
		return Because{Parameter: p.ID, Value: a.moisture.Round(p.Decimals)}
	}
	return Because{Value: a.moisture.Round(1)}
}

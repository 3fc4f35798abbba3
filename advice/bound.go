package advice

import (
	"math"

	g "threshline/grading"
)

// ceiling is the most that could be gained by mending every parameter made of
// the fields, in the unit of gain, so that hopeless remedies need no grading.
// With a buyer's moisture bands there is no such bound, nor under another rule than
// the worst parameter's, nor with a gate that holds. A fifth of what is worth it is
// added: what is taken out changes the share of all the rest, by far less.
func (a *weigher) ceiling(fields fieldSet) float64 {
	if !a.bounded() {
		return math.Inf(1)
	}
	met := outlook{upTo: a.spare}
	a.assessor.AtBest(met.upTo, func(i int) bool { return a.made[i].fields&fields != 0 })
	return a.above(&met) + a.worth()/5
}

// above is what an outlook is worth above the lot as it is, in the unit of gain; no
// bound is known where the buyer has moisture bands.
func (l *lot) above(met *outlook) float64 {
	switch {
	case l.market.known && len(l.market.bands) > 0:
		return math.Inf(1)
	case l.market.known:
		return l.market.money(met, 1, l.moisture) - l.money
	}
	return l.now.meanRank() - met.meanRank()
}

// bounded reports whether a lot with better parameters is no worse for sure.
func (a *weigher) bounded() bool {
	return (a.s.Rule == g.WorstOf || a.s.Rule == g.PassFail) && len(a.res.Gates) == 0
}

// canAdd reports whether mending all that is made of the fields could gain enough
// more than a set does for more work to be worth it.
func (a *weigher) canAdd(fields fieldSet, w *weighed) bool {
	return a.ceiling(fields) > w.gain+a.worth()
}

// hopeless reports whether a remedy would not gain enough even if it mended all that
// it acts on. What dries the lot never is, nor what acts on what decides the grade.
// In brief that is taken more closely, but for a remedy whose full effect would leave
// readings that cannot be: weighing leaves such a remedy out.
func (a *weigher) hopeless(rem *Remedy) (hopeless, brief bool) {
	if rem.Dries {
		return false, false
	}
	if met, ok := a.mended(rem.fields()); ok && !a.actsOnDeciding(rem) && a.above(&met) < a.worth() {
		return true, false
	}
	if a.brief == nil || !a.brief(rem) || a.ceiling(rem.fields()) >= a.worth() {
		return false, false
	}
	most, _, _ := a.step(rem, a.r, high, 1)
	possible := most.Check() == nil
	return possible, possible
}

// fields are those that the remedies of a set change or are about.
func (w *weighed) fields() (set fieldSet) {
	for _, rem := range w.remedies[:w.count] {
		set |= rem.fields()
	}
	return set
}

// ceilingSteps is ceiling in grade steps, for the next lot.
func (a *weigher) ceilingSteps(fields fieldSet) float64 {
	if met, ok := a.mended(fields); ok {
		return a.now.meanRank() - met.meanRank()
	}
	return math.Inf(1)
}

// open bounds what the parameters made of the fields may cost the lot in grade
// steps, whatever else is done to it: how far each is from surely being of the
// best grade.
func (a *weigher) open(fields fieldSet) (steps float64) {
	if len(a.res.Gates) > 0 {
		return math.Inf(1)
	}
	for i := range a.res.Parameters {
		p := &a.res.Parameters[i]
		if j := a.place(i, p.ID); !p.Measured || j < 0 || a.made[j].fields&fields == 0 {
			continue
		}
		for _, meets := range p.ByRank {
			steps += 1 - meets
		}
	}
	return steps
}

// mended is the outlook with every parameter made of the fields surely met. ok
// is false where it cannot be had so simply: under another rule than the worst
// parameter's, or with a gate that holds. It lasts until the next call.
func (a *weigher) mended(fields fieldSet) (met outlook, ok bool) {
	if !a.bounded() {
		return met, false
	}
	met.upTo = a.spare
	for i := range met.upTo {
		met.upTo[i] = 1
	}
	for j := range a.res.Parameters {
		p := &a.res.Parameters[j]
		if k := a.place(j, p.ID); !p.Measured || len(p.MostByRank) != len(met.upTo) || k < 0 || a.made[k].fields&fields != 0 {
			continue
		}
		for i := range met.upTo {
			met.upTo[i] *= p.MostByRank[i]
		}
	}
	return met, true
}

// place is index, quick where the parameter is the i-th, as it is in a result.
func (a *weigher) place(i int, id g.ParameterID) int {
	if i < len(a.s.Parameters) && a.s.Parameters[i].ID == id {
		return i
	}
	return a.index(id)
}

// index is a parameter's place in the standard, -1 when it is not there.
func (a *weigher) index(id g.ParameterID) int {
	for i := range a.s.Parameters {
		if a.s.Parameters[i].ID == id {
			return i
		}
	}
	return -1
}

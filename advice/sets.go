package advice

import (
	"slices"

	"threshline/grading"
)

// largestPool is how many remedies sets are built from: those that gain most
// alone. Source: our choice, [ASSUMED-ADVICE]; more than these never apply to
// one lot in practice.
const largestPool = 6

// grow adds, one after the other, the remedy that adds most to the set, while
// it adds enough to be worth it and the set holds fewer than three. Which adds
// most is judged at the middle effects, how much over all three levels.
func (a *advisor) grow(w weighed, mends []weighed) weighed {
	pool := a.pool(mends)
	for w.count < len(w.remedies) {
		var best weighed
		for i := range pool {
			if !a.canAdd(w.fields()|pool[i].fields(), &w) {
				continue
			}
			if more, ok := a.with(&w, &pool[i]); ok && (best.count == 0 || more.gain > best.gain+grading.Rounding) {
				best = more
			}
		}
		if best.count == 0 {
			break
		}
		full, ok := a.weighFully(best)
		if !ok || full.gain <= w.gain+a.worth() {
			break
		}
		w = full
	}
	return w
}

// pairUp looks for two, then three, remedies that gain together where none
// does alone. The set is put in order of the single gains.
func (a *advisor) pairUp(mends []weighed) (weighed, bool) {
	var all fieldSet
	for i := range mends {
		all |= mends[i].fields()
	}
	if a.ceiling(all) < a.worth() {
		return weighed{}, false
	}
	mends = a.inFull(mends)
	pool := a.pool(mends)
	var best weighed
	for i := range pool {
		for j := i + 1; j < len(pool); j++ {
			if w, ok := a.with(&pool[i], &pool[j]); ok && (best.count == 0 || w.gain > best.gain+grading.Rounding) {
				best = w
			}
		}
	}
	if w, ok := a.pays(best); ok {
		return a.grow(w, mends), true
	}
	best = weighed{}
	for i := range pool {
		for j := i + 1; j < len(pool); j++ {
			for k := j + 1; k < len(pool); k++ {
				w, ok := a.three(&pool[i], &pool[j], &pool[k])
				if ok && (best.count == 0 || w.gain > best.gain+grading.Rounding) {
					best = w
				}
			}
		}
	}
	return a.pays(best)
}

// pays weighs a set fully and says whether it is worth it.
func (a *weigher) pays(w weighed) (weighed, bool) {
	if w.count == 0 {
		return w, false
	}
	full, ok := a.weighFully(w)
	return full, ok && full.gain > a.worth()
}

// pool is what sets are built from: remedies that act on a parameter which does
// not meet the best grade, or on a gate that holds. What is good enough gets no
// step of its own.
func (a *advisor) pool(mends []weighed) []weighed {
	a.few = a.few[:0]
	for i := range mends {
		if len(a.few) < largestPool && a.holdsDown(mends[i].remedies[0].fields()) {
			a.few = append(a.few, mends[i])
		}
	}
	return a.few
}

func (a *weigher) holdsDown(fields fieldSet) bool {
	for i := range a.res.Parameters {
		p := &a.res.Parameters[i]
		j := a.place(i, p.ID)
		if j >= 0 && a.made[j].fields&fields != 0 && p.Measured && p.Rank > 1 {
			return true
		}
	}
	for i := range a.s.Gates {
		gate := &a.s.Gates[i]
		if !slices.Contains(a.res.Gates, gate.ID) {
			continue
		}
		j := a.index(gate.Parameter)
		if gateFields(gate)&fields != 0 || j >= 0 && a.made[j].fields&fields != 0 {
			return true
		}
	}
	return false
}

// with weighs a set and one more remedy, at the middle effects.
func (a *weigher) with(w, more *weighed) (weighed, bool) {
	rem := more.remedies[0]
	var rems [3]*Remedy
	var passes [3]int
	union := rem.fields()
	for i, have := range w.remedies[:w.count] {
		if clash(have, rem) {
			return weighed{}, false
		}
		rems[i], passes[i] = have, w.each(i)
		union |= have.fields()
	}
	rems[w.count], passes[w.count] = rem, more.passes
	if a.ceiling(union) < a.worth() {
		return weighed{}, false
	}
	return a.weighMid(rems[:w.count+1], passes[:w.count+1])
}

func (a *weigher) three(x, y, z *weighed) (weighed, bool) {
	pair := *x
	if clash(x.remedies[0], y.remedies[0]) {
		return weighed{}, false
	}
	pair.remedies[1], pair.count = y.remedies[0], 2
	pair.more[1] = y.passes
	return a.with(&pair, z)
}

// weighFully weighs a set over all levels, then with one more pass of each
// remedy that can be repeated, keeping what adds enough.
func (a *weigher) weighFully(w weighed) (weighed, bool) {
	rems, passes := w.remedies[:w.count], [3]int{}
	for i := range rems {
		passes[i] = w.each(i)
	}
	best, ok := a.weighSet(rems, passes[:w.count], w.mid)
	if !ok {
		return w, false
	}
	for i, rem := range rems {
		if passes[i] >= rem.Passes || a.surelyBest(&best) || !a.canAdd(best.fields(), &best) {
			continue
		}
		passes[i]++
		bar := best.gain + a.worth()
		if a.fallsShort(rems, passes[:w.count], bar) {
			passes[i]--
			continue
		}
		more, fine := a.weighSet(rems, passes[:w.count], state{})
		if !fine || more.gain <= bar {
			passes[i]--
			continue
		}
		best = more
	}
	return best, true
}

// surelyBest reports whether a set all but surely makes the best grade, so that
// another pass has nothing to add.
func (l *lot) surelyBest(w *weighed) bool { return w.rank == 1 && w.chance > 1-l.worthSteps }

// clash reports whether two remedies do the same work, so that both are never
// asked for.
func clash(x, y *Remedy) bool {
	return x == y || x.Task != "" && x.Task == y.Task
}

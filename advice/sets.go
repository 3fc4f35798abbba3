package advice

import (
	"slices"

	g "threshline/grading"
)

// largestPool is how many remedies sets are built from: those that gain most
// alone. Source: our choice, [ASSUMED-ADVICE]; more than these never apply to
// one lot in practice.
const largestPool = 6

// grow adds, one after the other, the remedy that adds most to the set, while
// it adds enough to be worth it and the set holds fewer than three.
func (a *advisor) grow(w weighed, mends []weighed) weighed {
	pool := a.pool(mends)
	for w.count < len(w.remedies) {
		best, found := w, false
		for i := range pool {
			more, ok := a.with(&w, &pool[i])
			if ok && more.gain > best.gain+a.improves(found) {
				best, found = more, true
			}
		}
		if !found {
			break
		}
		w = best
	}
	return w
}

// improves is the least by which a longer set must gain over a shorter one;
// among sets of one length any gain decides.
func (a *advisor) improves(sameLength bool) float64 {
	if sameLength {
		return 1e-9
	}
	return a.worth()
}

// pairUp looks for two, then three, remedies that gain together where none
// does alone. The set is put in order of the single gains.
func (a *advisor) pairUp(mends []weighed) (best weighed, found bool) {
	pool := a.pool(mends)
	for i := range pool {
		for j := i + 1; j < len(pool); j++ {
			if w, ok := a.with(&pool[i], &pool[j]); ok && w.gain > max(a.worth(), best.gain+1e-9) {
				best, found = w, true
			}
		}
	}
	if found {
		return a.grow(best, mends), true
	}
	for i := range pool {
		for j := i + 1; j < len(pool); j++ {
			for k := j + 1; k < len(pool); k++ {
				w, ok := a.three(&pool[i], &pool[j], &pool[k])
				if ok && w.gain > max(a.worth(), best.gain+1e-9) {
					best, found = w, true
				}
			}
		}
	}
	return best, found
}

// pool is what sets are built from: remedies that act on a parameter which
// does not surely meet the best grade, or on a gate that holds.
func (a *advisor) pool(mends []weighed) []weighed {
	var out []weighed
	for _, w := range mends {
		if len(out) < largestPool && a.holdsDown(w.remedies[0].fields()) {
			out = append(out, w)
		}
	}
	return out
}

func (a *advisor) holdsDown(fields fieldSet) bool {
	for i := range a.res.Parameters {
		p := &a.res.Parameters[i]
		j := a.index(p.ID)
		if j >= 0 && a.made[j].fields&fields != 0 && p.Measured && (len(p.ByRank) == 0 || p.ByRank[0] < 0.95) {
			return true
		}
	}
	for i := range a.s.Gates {
		if slices.Contains(a.res.Gates, a.s.Gates[i].ID) && gateFields(&a.s.Gates[i])&fields != 0 {
			return true
		}
	}
	return false
}

// with weighs a set and one more remedy, which may take a second pass there
// even when it did not alone.
func (a *advisor) with(w, more *weighed) (weighed, bool) {
	rem := more.remedies[0]
	rems := make([]*Remedy, 0, len(w.remedies))
	passes := make([]int, 0, len(w.remedies))
	union := rem.fields()
	for i, have := range w.remedies[:w.count] {
		if clash(have, rem) {
			return weighed{}, false
		}
		rems, passes = append(rems, have), append(passes, w.each(i))
		union |= have.fields()
	}
	rems, passes = append(rems, rem), append(passes, more.passes)
	if a.ceiling(union) < a.worth() {
		return weighed{}, false
	}
	return a.weighOnceOrTwice(rems, passes)
}

func (a *advisor) three(x, y, z *weighed) (weighed, bool) {
	pair := *x
	if clash(x.remedies[0], y.remedies[0]) {
		return weighed{}, false
	}
	pair.remedies[1], pair.count = y.remedies[0], 2
	pair.more[1] = y.passes
	return a.with(&pair, z)
}

// weighOnceOrTwice weighs a set, then with one more pass of each that can be
// repeated, keeping what adds enough.
func (a *advisor) weighOnceOrTwice(rems []*Remedy, passes []int) (weighed, bool) {
	best, ok := a.weighSet(rems, passes)
	for i, rem := range rems {
		if !ok || passes[i] >= rem.Passes || a.ceiling(rem.fields()) == 0 {
			continue
		}
		passes[i]++
		more, fine := a.weighSet(rems, passes)
		if !fine || more.gain <= best.gain+a.worth() {
			passes[i]--
			continue
		}
		best = more
	}
	return best, ok
}

// clash tells whether two remedies do the same work, so that both are never
// asked for.
func clash(x, y *Remedy) bool {
	if x == y || x.Dries && y.Dries {
		return true
	}
	return picks(x) && picks(y)
}

// picks tells whether a remedy takes out stones of a grain's size.
func picks(r *Remedy) bool {
	_, ok := r.effect(g.Inorganic)
	return ok && r.ID != Sieve
}

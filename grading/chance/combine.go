package chance

import (
	"slices"

	"threshline/grading"
)

// combine fills in the chance of the stated grade and of a better one.
func (a *Assessor) combine() {
	if a.res.Rank < 1 || a.res.Rank > len(a.orBetter) {
		return
	}
	a.orBetterOfAll()
	if a.res.Rank > 1 {
		a.res.Better = a.orBetter[a.res.Rank-2]
	}
	a.res.Confidence = max(a.orBetter[a.res.Rank-1]-a.res.Better, 0)
	a.likelier()
}

// likelier finds the likeliest grade other than the stated one, and whether it
// is likelier than that.
func (a *Assessor) likelier() {
	better := 0.0
	for i, orBetter := range a.orBetter {
		if chance := orBetter - better; chance > a.res.OtherChance && i+1 != a.res.Rank {
			a.res.Other, a.res.OtherChance = a.evaluator.Label(i+1), chance
		}
		better = orBetter
	}
	if a.res.OtherChance > a.res.Confidence {
		a.res.Likelier, a.res.LikelierChance = a.res.Other, a.res.OtherChance
	}
}

// orBetterOfAll fills orBetter: over the kinds of lots that this may be one of.
func (a *Assessor) orBetterOfAll() {
	clear(a.orBetter)
	for a.kind = range a.count {
		a.ladder()
		a.gates()
		for i, chance := range a.ofKind {
			a.orBetter[i] += a.weights[a.kind] * chance
		}
	}
	a.kind = 0
}

// ladder fills ofKind with the chance, by the limits alone, of each grade or
// a better one. A lot is in the best grade all of whose limits it meets, so
// the chance never falls on the way down, even where a grade limits a
// parameter that a worse one does not.
func (a *Assessor) ladder() {
	grades := len(a.s.Grades)
	for i := range a.ofKind {
		a.ofKind[i] = 1
	}
	if a.s.Rule == grading.MatrixOf && a.s.Matrix != nil {
		a.matrix(a.ofKind[:grades])
		return
	}
	met, out := a.met[a.kind], a.ofKind[:grades]
	lead := a.s.Rule == grading.LeadParam
	for j := range a.res.Parameters {
		if v := &a.res.Parameters[j]; v.Measured && (!lead || v.ID == a.s.Lead) {
			for i, meets := range met[j*grades:][:len(out)] {
				out[i] *= meets
			}
		}
	}
	for i := 1; i < grades; i++ {
		a.ofKind[i] = max(a.ofKind[i], a.ofKind[i-1])
	}
}

// gives reports whether the parameter counts in the lot's grade.
func (a *Assessor) gives(id grading.ParameterID) bool {
	return a.s.Rule != grading.LeadParam || a.s.Lead == id
}

// gates lowers the chance of every rank better than a gate's outcome by the
// chance that the gate holds: 1 or 0 for a sign, a chance by the limit for a
// value.
func (a *Assessor) gates() {
	for i := range a.s.Gates {
		g := &a.s.Gates[i]
		if g.Remark {
			continue
		}
		free := 1.0
		if j := a.index(g.Parameter); j >= 0 && a.beliefs[j][a.kind].family != unknown && !g.Seen(a.r) {
			free = a.beliefs[j][a.kind].within(&g.Bound)
		} else if slices.Contains(a.res.Gates, g.ID) {
			free = 0
		}
		if free == 1 {
			continue
		}
		for rank := a.evaluator.RankOf(g.Outcome) - 1; rank >= 1; rank-- {
			a.ofKind[rank-1] *= free
		}
	}
	if a.res.Rank >= a.noGrade { // certain, and no chance of the ladder's
		clear(a.ofKind[:a.res.Rank-1])
	}
}

// index is a measured parameter's place; -1 when there is no such parameter.
func (a *Assessor) index(id grading.ParameterID) int {
	if id == "" {
		return -1
	}
	for i := range a.res.Parameters {
		if v := &a.res.Parameters[i]; v.ID == id && v.Measured {
			return i
		}
	}
	return -1
}

// borderline says whether a parameter's bounds enclose a limit that would
// change the lot's grade: the next better limit of a deciding one, or the
// lot's own limit of any.
func (a *Assessor) borderline() bool {
	for i := range a.res.Parameters {
		if n := a.doubtful(i); n.under != nil || n.over != nil {
			return true
		}
	}
	return false
}

// doubtful returns the limits, of those that would change the lot's grade, that
// lie within parameter i's bounds: the nearest on each side of its value.
func (a *Assessor) doubtful(i int) nearest {
	v, b := &a.res.Parameters[i], &a.beliefs[i][0]
	n := nearest{v: v}
	if !v.Measured || b.family == unknown {
		return n
	}
	if a.s.Rule == grading.MatrixOf && a.s.IsAxis(v.ID) {
		a.tryCells(&n)
	} else if a.gives(v.ID) {
		a.tryRank(&n, i, a.res.Rank)
		if v.Rank >= min(a.res.Rank, len(a.s.Grades)+1) {
			a.tryRank(&n, i, min(a.res.Rank, len(a.s.Grades)+1)-1)
		}
	}
	for j := range a.s.Gates {
		if g := &a.s.Gates[j]; g.Parameter == v.ID && !g.Remark {
			n.try(g.Bound.Max)
			n.try(g.Bound.Min)
		}
	}
	return n
}

func (a *Assessor) tryRank(n *nearest, i, rank int) {
	if rank < 1 || rank > len(a.s.Grades) {
		return
	}
	bound := &a.evaluator.Limits(a.res.Class)[rank-1][i]
	n.try(bound.Max)
	n.try(bound.Min)
}

// nearest keeps the limits inside the parameter's bounds that are nearest to
// its value: under it, and over or at it.
type nearest struct {
	v           *grading.ParameterResult
	under, over *grading.Decimal
}

func (n *nearest) try(limit *grading.Decimal) {
	if limit == nil || limit.Float() < n.v.Low || limit.Float() > n.v.High {
		return
	}
	switch {
	case n.v.Value.Cmp(*limit) > 0:
		if n.under == nil || *limit > *n.under {
			n.under = limit
		}
	case n.over == nil || *limit < *n.over:
		n.over = limit
	}
}

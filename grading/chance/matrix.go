package chance

import "threshline/grading"

// matrix fills out with the chance of each grade or better: of the cells that
// give it, both axes taken as independent.
func (a *Assessor) matrix(out []float64) {
	m := a.s.Matrix
	clear(out)
	row, column := a.index(m.Row), a.index(m.Column)
	if row < 0 || column < 0 {
		return
	}
	for i, cells := range m.Cells {
		inRow := a.inBand(row, m.RowMax, i)
		for j, label := range cells {
			chance := inRow * a.inBand(column, m.ColumnMax, j)
			for rank := a.evaluator.RankOf(label); rank <= len(out); rank++ {
				out[rank-1] += chance
			}
		}
	}
}

// inBand is the chance that the lot's value of a parameter lies in a band of
// its axis.
func (a *Assessor) inBand(i int, tops []grading.Decimal, band int) float64 {
	b := &a.beliefs[i][a.kind]
	if b.family == unknown {
		if a.evaluator.Band(&a.res.Parameters[i].Found, tops) == band {
			return 1
		}
		return 0
	}
	chance := 1.0
	if band < len(tops) {
		chance = b.under(tops[band].Float())
	}
	if band > 0 {
		chance -= b.under(tops[band-1].Float())
	}
	return max(chance, 0)
}

// axis fills in the chances of one axis: the chance of a band that allows the grade.
func (a *Assessor) axis(id grading.ParameterID, b *belief, byRank []float64) {
	m := a.s.Matrix
	tops := m.RowMax
	if id == m.Column {
		tops = m.ColumnMax
	}
	clear(byRank)
	under := 0.0
	for band := 0; band <= len(tops); band++ {
		upTo := 1.0
		if band < len(tops) {
			upTo = b.under(tops[band].Float())
		}
		for rank := a.evaluator.Allows(id, band); rank <= len(byRank); rank++ {
			byRank[rank-1] += max(upTo-under, 0)
		}
		under = upTo
	}
}

// tryCells offers the ends of the value's own band, where they part two grades
// with the other axis as it is.
func (a *Assessor) tryCells(n *nearest) {
	m := a.s.Matrix
	tops, other, otherTops := m.RowMax, m.Column, m.ColumnMax
	if n.v.ID == m.Column {
		tops, other, otherTops = m.ColumnMax, m.Row, m.RowMax
	}
	j := a.index(other)
	if j < 0 {
		return
	}
	at, across := a.evaluator.Band(&n.v.Found, tops), a.evaluator.Band(&a.res.Parameters[j].Found, otherTops)
	label := func(band int) grading.GradeLabel {
		if n.v.ID == m.Row {
			return m.Cells[band][across]
		}
		return m.Cells[across][band]
	}
	if at > 0 && label(at-1) != label(at) {
		n.try(&tops[at-1])
	}
	if at < len(tops) && label(at+1) != label(at) {
		n.try(&tops[at])
	}
}

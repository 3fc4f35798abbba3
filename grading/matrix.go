package grading

import "slices"

// matrix is the rule of a table of two parameters' bands: where both were
// measured the cell gives the lot's rank, where one is missing the best that the
// other's band allows.
func (e *Ladder) matrix(lot []Found) int {
	m := e.standard.Matrix
	row, column := e.axis(lot, m.Row), e.axis(lot, m.Column)
	switch {
	case row != nil && column != nil:
		return e.RankOf(m.Cells[e.Band(row, m.RowMax)][e.Band(column, m.ColumnMax)])
	case row != nil:
		return e.Allows(m.Row, e.Band(row, m.RowMax))
	case column != nil:
		return e.Allows(m.Column, e.Band(column, m.ColumnMax))
	}
	return 1
}

// axis is the measured value of one axis; nil when it was not measured.
func (e *Ladder) axis(lot []Found, id ParameterID) *Found {
	if i := e.index(id); i >= 0 && lot[i].Measured {
		return &lot[i]
	}
	return nil
}

// axes fills in the own grades of both axes: the best that the band allows.
func (e *Ladder) axes(res *Result) {
	m := e.standard.Matrix
	for id, limits := range map[ParameterID][]Decimal{m.Row: m.RowMax, m.Column: m.ColumnMax} {
		pr := res.Parameter(id)
		if pr == nil || !pr.Measured {
			continue
		}
		ranks := make([]int, len(limits)+1)
		for band := range ranks {
			ranks[band] = e.Allows(id, band)
		}
		e.place(pr, ranks, limits)
	}
}

// Band is the index of the value's band; its upper end belongs to it.
func (e *Ladder) Band(v *Found, limits []Decimal) int {
	b := 0
	for b < len(limits) && e.compare(v, limits[b]) > 0 {
		b++
	}
	return b
}

// Allows is the best rank that a band of an axis allows.
func (e *Ladder) Allows(axis ParameterID, band int) int {
	m := e.standard.Matrix
	best := e.Ranks()
	for i := range m.Cells {
		for j, label := range m.Cells[i] {
			if axis == m.Row && i == band || axis == m.Column && j == band {
				best = min(best, e.RankOf(label))
			}
		}
	}
	return best
}

// place fills in the own grade of an axis, the upper end of the last band of
// that grade, and of the last band of a better one.
func (e *Ladder) place(pr *ParameterResult, ranks []int, limits []Decimal) {
	pr.Rank = ranks[e.Band(&pr.Found, limits)]
	pr.Grade = e.Label(pr.Rank)
	last := len(limits) - 1
	for b := range limits {
		if ranks[b] == pr.Rank {
			pr.Limit = &limits[b]
		}
		if ranks[b] < pr.Rank {
			pr.Next = &limits[b]
		}
	}
	if pr.Limit == nil && last >= 0 {
		pr.Limit = &limits[last]
	}
}

// Bands are the limits of an axis of the matrix that bound a grade: the upper
// end of the last band in which the parameter still allows the rank. It
// returns false when the parameter is no axis or every band allows it.
func (s *Standard) bands(id ParameterID, rank int) (Decimal, bool) {
	m := s.Matrix
	limits := m.RowMax
	if id == m.Column {
		limits = m.ColumnMax
	} else if id != m.Row {
		return 0, false
	}
	e := NewEvaluator(s)
	end, found := Decimal(0), false
	for b := 0; b <= len(limits); b++ {
		if e.Allows(id, b) > rank {
			break
		}
		if b == len(limits) {
			return 0, false
		}
		end, found = limits[b], true
	}
	return end, found
}

// Limit is the bound that a parameter has to keep for a rank of the ladder in
// a class, whatever the rule: a matrix gives the upper end of the bands that
// allow the rank. It returns false when there is none.
func (s *Standard) Limit(class string, rank int, id ParameterID) (Bound, bool) {
	if rank < 1 || rank > len(s.Grades) {
		return Bound{}, false
	}
	if s.Rule == MatrixOf && s.Matrix != nil {
		end, ok := s.bands(id, rank)
		return Bound{Max: &end}, ok
	}
	return s.Grades[rank-1].Bound(class, id)
}

// IsAxis reports whether the parameter is an axis of the standard's matrix.
func (s *Standard) IsAxis(id ParameterID) bool {
	return s.Matrix != nil && slices.Contains([]ParameterID{s.Matrix.Row, s.Matrix.Column}, id)
}

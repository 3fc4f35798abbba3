package grading

import "slices"

// matrix is the rule of a table of two parameters' bands. A parameter's own
// grade is the best that its band allows; where both were measured the cell
// gives the lot's grade, where one is missing its own grade stands.
func (e *Evaluator) matrix(res *Result) {
	m := e.standard.Matrix
	row, rows := e.axis(res, m.Row, m.RowMax)
	column, columns := e.axis(res, m.Column, m.ColumnMax)
	if row != nil {
		ranks := make([]int, rows+1)
		for b := range ranks {
			ranks[b] = e.best(m.Cells[b])
		}
		e.place(row, ranks, m.RowMax)
	}
	if column != nil {
		ranks := make([]int, columns+1)
		for b := range ranks {
			ranks[b] = e.bestOfColumn(b)
		}
		e.place(column, ranks, m.ColumnMax)
	}
	res.Rank = 1
	switch {
	case row != nil && column != nil:
		res.Rank = e.rank(m.Cells[e.band(row, m.RowMax)][e.band(column, m.ColumnMax)])
	case row != nil:
		res.Rank = row.Rank
	case column != nil:
		res.Rank = column.Rank
	}
}

// axis is the measured result of one axis and how many limits its bands have.
func (e *Evaluator) axis(res *Result, id ParameterID, limits []Decimal) (*ParameterResult, int) {
	pr := res.Parameter(id)
	if pr == nil || !pr.Measured {
		return nil, len(limits)
	}
	return pr, len(limits)
}

// band is the index of the value's band; its upper end belongs to it.
func (e *Evaluator) band(pr *ParameterResult, limits []Decimal) int {
	b := 0
	for b < len(limits) && e.compare(pr, limits[b]) > 0 {
		b++
	}
	return b
}

func (e *Evaluator) best(cells []GradeLabel) int {
	best := e.rank(cells[0])
	for _, label := range cells[1:] {
		best = min(best, e.rank(label))
	}
	return best
}

func (e *Evaluator) bestOfColumn(b int) int {
	cells := e.standard.Matrix.Cells
	best := e.rank(cells[0][b])
	for _, row := range cells[1:] {
		best = min(best, e.rank(row[b]))
	}
	return best
}

// place fills in the own grade of an axis, the upper end of the last band of
// that grade, and of the last band of a better one.
func (e *Evaluator) place(pr *ParameterResult, ranks []int, limits []Decimal) {
	pr.Rank = ranks[e.band(pr, limits)]
	pr.Grade = e.label(pr.Rank)
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
		own := 0
		if id == m.Row {
			own = e.best(m.Cells[b])
		} else {
			own = e.bestOfColumn(b)
		}
		if own > rank {
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

// IsAxis tells whether the parameter is an axis of the standard's matrix.
func (s *Standard) IsAxis(id ParameterID) bool {
	return s.Matrix != nil && slices.Contains([]ParameterID{s.Matrix.Row, s.Matrix.Column}, id)
}

package grading

// sharpen shows a measured value so that it lies on the side of every limit on
// which it was found: 15.03, over a limit of 15, is not shown as 15.0. It takes
// one decimal more, or as many as that needs; of what was rounded before it was
// compared it shows what was compared.
func (e *Evaluator) sharpen(bounds [][]Bound, i int, pr *ParameterResult) {
	if !pr.Measured || pr.Unit == Word || e.agrees(bounds, i, pr) {
		return
	}
	if pr.step != 0 {
		pr.Shown = pr.compared
		for pr.Decimals < decimalPlaces && pr.Shown.Round(pr.Decimals) != pr.Shown {
			pr.Decimals++
		}
		return
	}
	for pr.Decimals < decimalPlaces && !e.agrees(bounds, i, pr) {
		pr.Decimals++
		pr.Shown = pr.Value.Round(pr.Decimals)
	}
	switch { // nearer to the limit than four decimals can say
	case e.agrees(bounds, i, pr):
	case pr.Value.Cmp(pr.Shown) > 0:
		pr.Shown++
	default:
		pr.Shown--
	}
}

// agrees reports whether the shown value meets the same limits as the value:
// those of every grade, of the gates and of the axes of a matrix.
func (e *Evaluator) agrees(bounds [][]Bound, i int, pr *ParameterResult) bool {
	same := func(b *Bound) bool { return b.WorstWord != "" || e.meets(i, b, &pr.Found) == b.Meets(pr.Shown) }
	for g := range bounds {
		if !same(&bounds[g][i]) {
			return false
		}
	}
	for g := range e.gate {
		if e.gate[g].parameter == i && !same(&e.standard.Gates[g].Bound) {
			return false
		}
	}
	if m := e.standard.Matrix; m != nil {
		for axis, limits := range map[ParameterID][]Decimal{m.Row: m.RowMax, m.Column: m.ColumnMax} {
			for k := range limits {
				if axis == pr.ID && !same(&Bound{Max: &limits[k]}) {
					return false
				}
			}
		}
	}
	return true
}

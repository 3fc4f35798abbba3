package standard

import (
	"slices"
	"strconv"

	"threshline/grading"
)

// prices reads [[price]]: adjustments kept apart from the grade. A file that
// has any replaces all of its parent's.
func (f *file) prices(t *table, s *grading.Standard) {
	list := t.list("price", "parameter")
	if len(list) > 0 {
		s.Prices = nil
	}
	for _, pt := range list {
		s.Prices = append(s.Prices, f.price(pt, s))
		pt.done()
	}
}

func (f *file) price(t *table, s *grading.Standard) grading.PriceRule {
	id := t.needText("parameter", "the parameter that the price follows")
	if id != "" && s.Parameter(grading.ParameterID(id)) == nil {
		f.unknownParameter(f.at(t.key("parameter")), t.key("parameter"), id, s)
	}
	r := grading.PriceRule{
		Parameter: grading.ParameterID(id),
		Class:     t.choice("class", s.Classes),
		Below:     t.flag("below"),
		Part:      t.flag("part_steps"),
		Cap:       t.decimal("cap"),
		Decimals:  -1,
		Of:        t.choice("of", []string{"price", "weight"}),
		Note:      t.text("note"),
	}
	if r.Of == "" && !t.has("of") {
		t.missing("of", oneOf([]string{"price", "weight"}))
	}
	if n, ok := t.whole("round_to", 0, 4); ok {
		r.Decimals = n
	}
	f.from(t, s, &r)
	r.Step = t.needDecimal("step", "how far the value moves for one change, over 0")
	if r.Step < 0 {
		t.wrong(t.node.get("step"), "step", "how far the value moves for one change, over 0")
	}
	r.Change = t.needDecimal("change", "percent for each step, negative for a cut")
	if r.Cap != nil && (*r.Cap < 0) != (r.Change < 0) {
		t.wrong(t.node.get("cap"), "cap", "a number with the sign of change")
	}
	return r
}

// from reads the value from which steps count: one for all, or by grade.
func (f *file) from(t *table, s *grading.Standard, r *grading.PriceRule) {
	d := t.decimal("from")
	by := t.sub("from_grade")
	if (d == nil) == (by == nil) {
		f.fault(t.node.line, t.path, "", "either from or from_grade")
		return
	}
	if d != nil {
		r.From = *d
		return
	}
	r.FromByGrade = make(map[grading.GradeLabel]grading.Decimal)
	for _, m := range by.node.members {
		label := grading.GradeLabel(m.key)
		if !slices.ContainsFunc(s.Grades, func(g grading.GradeRow) bool { return g.Label == label }) {
			f.fault(m.line, by.key(m.key), strconv.Quote(m.key), "the label of a grade")
			continue
		}
		if d := by.toDecimal(m.node, m.key); d != nil {
			r.FromByGrade[label] = *d
		}
	}
}

package standard

import (
	"slices"
	"strconv"

	"threshline/grading"
)

// grades reads [[grade]], best first. Laid over a parent, a grade changes the
// limits that it names and keeps the others.
func (f *file) grades(t *table, s *grading.Standard) {
	var here []string
	for _, gt := range t.list("grade", "label") {
		label := gt.needText("label", "the standard's own name of the grade")
		if label != "" && slices.Contains(here, label) {
			gt.wrong(gt.node.get("label"), "label", "every grade only once")
		}
		here = append(here, label)
		row := f.row(gt, s, grading.GradeLabel(label))
		if row == nil {
			continue
		}
		f.limits(gt, s, row, "")
		f.classLimits(gt, s, row)
		gt.done()
	}
	if len(s.Grades) == 0 {
		t.missing("grade", "at least one [[grade]]")
	}
}

// row is the grade to fill: a new one, or the parent's of the same label.
func (f *file) row(t *table, s *grading.Standard, label grading.GradeLabel) *grading.GradeRow {
	for i := range s.Grades {
		if s.Grades[i].Label == label {
			return &s.Grades[i]
		}
	}
	if s.Parent != "" {
		f.fault(f.at(t.key("label")), t.key("label"), strconv.Quote(string(label)), "the label of one of the parent's grades")
		return nil
	}
	s.Grades = append(s.Grades, grading.GradeRow{Label: label})
	return &s.Grades[len(s.Grades)-1]
}

func (f *file) classLimits(t *table, s *grading.Standard, row *grading.GradeRow) {
	classes := t.sub("class")
	if classes == nil {
		return
	}
	for _, class := range s.Classes {
		if ct := classes.sub(class); ct != nil {
			f.limits(ct, s, row, class)
			ct.done()
		}
	}
	classes.done()
}

// limits reads max, min, below, above, word and none of one grade and class.
func (f *file) limits(t *table, s *grading.Standard, row *grading.GradeRow, class string) {
	f.ends(t, s, row, class, "max", func(b *grading.Bound, d grading.Decimal) { b.Max, b.MaxExclusive = &d, false })
	f.ends(t, s, row, class, "below", func(b *grading.Bound, d grading.Decimal) { b.Max, b.MaxExclusive = &d, true })
	f.ends(t, s, row, class, "min", func(b *grading.Bound, d grading.Decimal) { b.Min, b.MinExclusive = &d, false })
	f.ends(t, s, row, class, "above", func(b *grading.Bound, d grading.Decimal) { b.Min, b.MinExclusive = &d, true })
	if wt := t.sub("word"); wt != nil {
		for _, m := range wt.node.members {
			f.wordLimit(wt, s, row, class, m.key)
		}
	}
	for _, id := range t.names("none") {
		f.change(row, class, grading.ParameterID(id), func(b *grading.Bound) { *b = grading.Bound{} })
	}
}

// ends reads one table of limits, such as max = { moisture = 14 }.
func (f *file) ends(t *table, s *grading.Standard, row *grading.GradeRow, class, key string, set func(*grading.Bound, grading.Decimal)) {
	et := t.sub(key)
	if et == nil {
		return
	}
	for _, m := range et.node.members {
		f.lines[et.key(m.key)] = m.line
		p := s.Parameter(grading.ParameterID(m.key))
		if p == nil {
			f.unknownParameter(m.line, et.key(m.key), m.key, s)
			continue
		}
		if p.Unit == grading.Word {
			et.wrong(m.node, m.key, "word = { "+m.key+" = \"...\" }, because its unit is \"word\"")
			continue
		}
		d := et.toDecimal(m.node, m.key)
		if d == nil {
			continue
		}
		if *d < 0 || p.Unit.Percentage() && *d > 100*grading.One {
			et.wrong(m.node, m.key, "a limit in "+string(p.Unit)+" that a value can reach")
			continue
		}
		f.change(row, class, p.ID, func(b *grading.Bound) { set(b, *d) })
	}
}

func (f *file) wordLimit(t *table, s *grading.Standard, row *grading.GradeRow, class, id string) {
	p := s.Parameter(grading.ParameterID(id))
	if p == nil {
		f.unknownParameter(t.node.get(id).line, t.key(id), id, s)
		return
	}
	if p.Unit != grading.Word {
		t.wrong(t.node.get(id), id, "a parameter with the unit \"word\"")
		return
	}
	if w := t.choice(id, p.Words); w != "" {
		f.change(row, class, p.ID, func(b *grading.Bound) { b.WorstWord = w })
	}
}

func (f *file) change(row *grading.GradeRow, class string, id grading.ParameterID, set func(*grading.Bound)) {
	if row.Limits == nil {
		row.Limits = make(map[string]map[grading.ParameterID]grading.Bound)
	}
	if row.Limits[class] == nil {
		row.Limits[class] = make(map[grading.ParameterID]grading.Bound)
	}
	b := row.Limits[class][id]
	set(&b)
	row.Limits[class][id] = b
}

package standard

import (
	"slices"
	"strconv"

	"threshline/grading"
)

// gates reads [[gate]]. One with the id of a parent's replaces it.
func (f *file) gates(t *table, s *grading.Standard) {
	var here []string
	for _, gt := range t.list("gate", "id") {
		g := f.gate(gt, s)
		gt.done()
		if g.ID == "" {
			continue
		}
		if slices.Contains(here, g.ID) {
			gt.wrong(gt.node.get("id"), "id", "every gate only once")
			continue
		}
		here = append(here, g.ID)
		if i := slices.IndexFunc(s.Gates, func(old grading.Gate) bool { return old.ID == g.ID }); i >= 0 {
			s.Gates[i] = g
		} else {
			s.Gates = append(s.Gates, g)
		}
	}
}

func (f *file) gate(t *table, s *grading.Standard) grading.Gate {
	g := grading.Gate{
		ID:      t.needText("id", "a name such as \"infested\""),
		Outcome: grading.GradeLabel(t.text("outcome")),
		Remark:  t.flag("remark"),
	}
	if g.ID != "" && !snake.MatchString(g.ID) {
		t.wrong(t.node.get("id"), "id", "lower-case words joined by underscores")
	}
	if g.Remark == (g.Outcome != "") {
		f.fault(t.node.line, t.path, "", "either an outcome or remark = true")
	}
	for _, name := range t.names("flags") {
		if now := grading.Renamed(name); now != "" {
			f.fault(f.at(t.key("flags")), t.key("flags"), strconv.Quote(name), "its new name").Hint = now
		}
		g.Flags = append(g.Flags, grading.Flag(name))
	}
	if it := t.sub("insects"); it != nil {
		g.Insects = f.insects(it)
		g.Fields = []grading.Field{grading.LiveWeevils, grading.LiveOthers}
	}
	if id := t.text("parameter"); id != "" {
		g.Parameter = grading.ParameterID(id)
		f.gateBound(t, s, &g)
	}
	if len(g.Flags) == 0 && g.Insects == nil && g.Parameter == "" {
		f.fault(t.node.line, t.path, "", "a condition: flags, insects or a parameter with its bound")
	}
	return g
}

func (f *file) insects(t *table) *grading.InsectRule {
	const most = 1000
	rule, before := new(grading.InsectRule), len(f.faults)
	rule.Weevils, _ = t.whole("weevils", 0, most)
	rule.WithWeevil, _ = t.whole("others_with_a_weevil", 0, most)
	rule.Others, _ = t.whole("others", 0, most)
	if *rule == (grading.InsectRule{}) && len(f.faults) == before {
		f.fault(t.node.line, t.path, "", "at least one of weevils, others_with_a_weevil, others")
	}
	t.done()
	return rule
}

// gateBound reads the bound that a gate sets for a parameter.
func (f *file) gateBound(t *table, s *grading.Standard, g *grading.Gate) {
	p := s.Parameter(g.Parameter)
	if p == nil {
		f.unknownParameter(t.node.get("parameter").line, t.key("parameter"), string(g.Parameter), s)
		p = new(grading.Parameter)
	}
	b := &g.Bound
	if b.Max = t.decimal("max"); b.Max == nil {
		b.Max, b.MaxExclusive = t.decimal("below"), t.has("below")
	}
	if b.Min = t.decimal("min"); b.Min == nil {
		b.Min, b.MinExclusive = t.decimal("above"), t.has("above")
	}
	t.asked = append(t.asked, "below", "above")
	if len(p.Words) > 0 {
		b.WorstWord = t.choice("word", p.Words)
	}
	if b.None() {
		f.fault(t.node.line, t.path, "", "the bound that the parameter has to keep: max, min, below, above or word")
	}
}

// matrix reads [matrix]: two parameters, the upper ends of their bands, and a
// grade for every pair of bands.
func (f *file) matrix(t *table, s *grading.Standard) {
	mt := t.sub("matrix")
	if mt == nil {
		return
	}
	m := &grading.Matrix{
		Row:       grading.ParameterID(mt.needText("row", "the parameter of the rows")),
		Column:    grading.ParameterID(mt.needText("column", "the parameter of the columns")),
		RowMax:    mt.decimals("row_max"),
		ColumnMax: mt.decimals("column_max"),
	}
	for _, key := range []string{"row", "column"} {
		id := mt.text(key)
		if p := s.Parameter(grading.ParameterID(id)); id != "" && p == nil {
			f.unknownParameter(f.at(mt.key(key)), mt.key(key), id, s)
		} else if p != nil && p.Unit == grading.Word {
			mt.wrong(mt.node.get(key), key, "a parameter with a number")
		}
	}
	for key, limits := range map[string][]grading.Decimal{"row_max": m.RowMax, "column_max": m.ColumnMax} {
		if len(limits) == 0 || !slices.IsSorted(limits) || len(slices.Compact(slices.Clone(limits))) != len(limits) {
			f.fault(f.at(mt.key(key)), mt.key(key), "", "the upper ends of the bands, rising")
		}
	}
	m.Cells = f.cells(mt, s, len(m.RowMax)+1, len(m.ColumnMax)+1)
	mt.done()
	s.Matrix = m
}

func (f *file) cells(t *table, s *grading.Standard, rows, columns int) (out [][]grading.GradeLabel) {
	n := t.get("cells", arrayNode)
	if n == nil {
		t.missing("cells", "a list of rows of grade labels")
		return nil
	}
	want := strconv.Itoa(rows) + " rows of " + strconv.Itoa(columns) + " labels: one band more than there are upper ends"
	for _, rowNode := range n.items {
		var row []grading.GradeLabel
		for _, cell := range rowNode.items {
			label := grading.GradeLabel(cell.text)
			if s.Rank(label) == 0 || cell.kind != textNode {
				t.wrong(cell, "cells", "the label of a grade, or out_of_grade")
			}
			row = append(row, label)
		}
		if len(row) != columns {
			f.fault(rowNode.line, t.key("cells"), strconv.Itoa(len(row))+" labels", want)
		}
		out = append(out, row)
	}
	if len(out) != rows {
		f.fault(n.line, t.key("cells"), strconv.Itoa(len(out))+" rows", want)
	}
	return out
}

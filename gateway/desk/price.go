package desk

import (
	"strings"

	"threshline/advice"
	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// adjustments lists what the standard's price rules and the programme's buyer
// deduct or add, apart from the grade, each with its source. It is empty when
// neither has a rule.
func adjustments(p *programme.Programme, c *session.Check, res *grading.Result) paper.Table {
	t := paper.Table{Caption: "What is taken off or added, apart from the grade", Head: paper.Heads("Rule", "#This lot", "Change", "Source")}
	for i := range p.Standard.Prices {
		if rule := &p.Standard.Prices[i]; rule.Class == "" || rule.Class == res.Class {
			t.Rows = append(t.Rows, priceRow(p.Standard, rule, res))
		}
	}
	if row, ok := deductionRow(p, c); ok {
		t.Rows = append(t.Rows, row)
	}
	return t
}

// priceRow is one rule of the standard and what it does to the lot.
func priceRow(s *grading.Standard, rule *grading.PriceRule, res *grading.Result) []paper.Cell {
	label, u, value := string(rule.Parameter), "", "not measured"
	if def := s.Parameter(rule.Parameter); def != nil {
		label, u = def.Label, paper.Unit(def.Unit, def.Basis)
	}
	if got := res.Parameter(rule.Parameter); got != nil && got.Measured {
		value = got.Shown.Fixed(got.Decimals)
	}
	side := " over "
	if rule.Below {
		side = " under "
	}
	text := label + ": " + rule.Change.Ratio().Signed() + "% of the " + rule.Of + " for each " + rule.Step.String() + side + from(rule, res.Grade) + " " + u
	if rule.Class != "" {
		text += ", class " + rule.Class
	}
	if rule.Note != "" {
		text += " (" + rule.Note + ")"
	}
	change := "none"
	for _, a := range grading.Adjustments(s, res) {
		if a.Rule != rule {
			continue
		}
		change = a.Percent.Signed() + "% of the " + rule.Of
		if a.Capped {
			change += ", as far as the rule goes"
		}
	}
	source := s.Source
	if s.SourceTag != "" {
		source += " [" + s.SourceTag + "]"
	}
	return paper.Cells(text, value, change, source)
}

// from is where the steps of a rule begin, for a lot's grade.
func from(rule *grading.PriceRule, grade grading.GradeLabel) string {
	if rule.FromByGrade == nil {
		return rule.From.String()
	}
	if d, ok := rule.FromByGrade[grade]; ok {
		return d.String()
	}
	return "the limit of its grade"
}

// deductionRow is what the programme's buyer cuts for moisture.
func deductionRow(p *programme.Programme, c *session.Check) ([]paper.Cell, bool) {
	bands := p.Advice.Deductions
	if len(bands) == 0 {
		return nil, false
	}
	var steps []string
	for _, b := range bands {
		steps = append(steps, b.Cut.String()+"% off over "+b.Over.String()+" up to "+b.UpTo.String())
	}
	value, change := "not measured", "not known"
	if m, ok := advice.MoistureOf(p.Standard, &c.Readings); ok {
		value = m.Round(1).String()
		whole := 100 * grading.One
		switch paid, taken := advice.Deduct(whole, m, bands); {
		case !taken:
			change = "not taken so wet"
		case paid == whole:
			change = "none"
		default:
			change = "-" + (whole - paid).String() + "% of the price"
		}
	}
	return paper.Cells("Moisture, % wet basis: "+strings.Join(steps, "; "), value, change, "the programme’s settings"), true
}

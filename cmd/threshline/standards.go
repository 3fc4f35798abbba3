package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"threshline/grading"
	"threshline/grading/standard"
)

type standardsCmd struct {
	ID string `arg:"" optional:"" help:"A built-in id, or the path of a standard file: print its limits, bases and source."`
}

func (cmd *standardsCmd) Run(std stdio) error {
	if cmd.ID == "" {
		return listStandards(std.out)
	}
	s, err := findStandard(cmd.ID, ".")
	if err != nil {
		return err
	}
	var p page
	p.table(s)
	_, err = io.WriteString(std.out, p.String())
	return err
}

// listStandards prints id, status and title of each built-in table.
func listStandards(out io.Writer) error {
	all, err := standard.Builtin()
	if err != nil {
		return err
	}
	recalled := false
	for _, s := range all {
		mark := " "
		if s.Status == grading.FromMemory {
			mark, recalled = "!", true
		}
		if _, err := fmt.Fprintf(out, "%s %-18s %-11s %s\n", mark, s.ID, s.Status, s.Title); err != nil {
			return err
		}
	}
	if recalled {
		_, err = fmt.Fprintln(out, "! recalled, not read: check the limits against the standard before use")
	}
	return err
}

// table prints one standard whole.
func (p *page) table(s *grading.Standard) {
	fmt.Fprintf(p, "%s\n%s\n", s.ID, s.Title)
	if warning := statusWarning(s.Status); warning != "" {
		p.line("WARNING: %s", warning)
	}
	p.line("edition  %s", s.Edition)
	p.line("issuer   %s, %s", s.Issuer, s.Country)
	p.line("source   %s [%s]", s.Source, s.SourceTag)
	p.line("status   %s", s.Status)
	if s.Parent != "" {
		p.line("based on %s", s.Parent)
	}
	if s.ValidFrom != "" || s.ValidTo != "" {
		p.line("valid    %s to %s", orDash(s.ValidFrom), orDash(s.ValidTo))
	}
	if len(s.Classes) > 0 {
		p.line("classes  %s (when none is given: %s)", strings.Join(s.Classes, ", "), orDash(s.DefaultClass))
	}
	p.line("rule     %s%s", s.Rule, leadText(s))
	if s.RoundFirst {
		p.line("values are rounded before they are compared")
	}
	p.line("under the last grade: %s", s.OutOfGrade)
	p.parameters(s)
	p.limits(s)
	p.matrix(s)
	p.gates(s)
	p.prices(s)
	if s.Note != "" {
		p.heading("Note")
		p.wrap("%s", s.Note)
	}
}

func leadText(s *grading.Standard) string {
	if s.Lead == "" {
		return ""
	}
	return ": " + string(s.Lead) + " alone gives the grade"
}

func orDash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}

func (p *page) parameters(s *grading.Standard) {
	p.heading("Parameters")
	for i := range s.Parameters {
		param := &s.Parameters[i]
		need := "optional"
		if param.Required {
			need = "required"
		}
		p.wrap("%s: %s, %s, basis %s, shown to %d decimals, %s", param.ID, param.Label, param.Unit, param.Basis, param.Decimals, need)
		if len(param.Words) > 0 {
			p.line("    words, best first: %s", strings.Join(param.Words, ", "))
		}
		if param.PartOf != "" {
			p.line("    part of %s", param.PartOf)
		}
		if param.Estimate {
			p.line("    from hand readings an estimate")
		}
		if param.Note != "" {
			p.wrapAt(6, "%s", param.Note)
		}
	}
}

func (p *page) limits(s *grading.Standard) {
	p.heading("Limits, best grade first")
	classes := s.Classes
	if len(classes) == 0 {
		classes = []string{""}
	}
	for _, class := range classes {
		if class != "" {
			p.line("class %s", class)
		}
		for i := range s.Grades {
			var texts []string
			for j := range s.Parameters {
				if b, ok := s.Limit(class, i+1, s.Parameters[j].ID); ok {
					texts = append(texts, fmt.Sprintf("%s %s", s.Parameters[j].ID, boundText(&b, s.Parameters[j].Unit)))
				}
			}
			p.wrap("%s: %s", s.Grades[i].Label, strings.Join(texts, "; "))
		}
	}
}

func (p *page) matrix(s *grading.Standard) {
	m := s.Matrix
	if m == nil {
		return
	}
	p.heading(fmt.Sprintf("Table of %s (down) and %s (across)", m.Row, m.Column))
	bands := func(tops []grading.Decimal, i int) string {
		if i < len(tops) {
			return "to " + limitText(tops[i], grading.PercentMass)
		}
		return "over " + limitText(tops[len(tops)-1], grading.PercentMass)
	}
	header := fmt.Sprintf("%-16s", "")
	for j := range m.Cells[0] {
		header += fmt.Sprintf(" %-16s", bands(m.ColumnMax, j))
	}
	p.line("%s", header)
	for i, row := range m.Cells {
		line := fmt.Sprintf("%-16s", bands(m.RowMax, i))
		for _, label := range row {
			line += fmt.Sprintf(" %-16s", label)
		}
		p.line("%s", line)
	}
}

func (p *page) gates(s *grading.Standard) {
	if len(s.Gates) == 0 {
		return
	}
	p.heading("Gates outside the ladder")
	for i := range s.Gates {
		g := &s.Gates[i]
		outcome := string(g.Outcome)
		if g.Remark {
			outcome = "a remark"
		}
		var when []string
		if len(g.Flags) > 0 {
			when = append(when, join(g.Flags))
		}
		if r := g.Insects; r != nil {
			when = append(when, insectText(r))
		}
		if g.Parameter != "" {
			when = append(when, fmt.Sprintf("%s not %s", g.Parameter, boundText(&g.Bound, s.Parameter(g.Parameter).Unit)))
		}
		p.line("%s: %s, when %s", g.ID, outcome, strings.Join(when, " or "))
	}
}

func insectText(r *grading.InsectRule) string {
	var parts []string
	if r.Weevils > 0 {
		parts = append(parts, fmt.Sprintf("%d live weevils", r.Weevils))
	}
	if r.WithWeevil > 0 {
		parts = append(parts, fmt.Sprintf("a live weevil and %d other live insects", r.WithWeevil))
	}
	if r.Others > 0 {
		parts = append(parts, fmt.Sprintf("%d other live insects", r.Others))
	}
	return strings.Join(parts, " or ")
}

func (p *page) prices(s *grading.Standard) {
	if len(s.Prices) == 0 {
		return
	}
	p.heading("Adjustments, apart from the grade")
	for i := range s.Prices {
		r := &s.Prices[i]
		side, step := "over", "full step"
		if r.Below {
			side = "under"
		}
		if r.Part {
			step = "step, parts in proportion,"
		}
		text := fmt.Sprintf("%s: %s %% of the %s for every %s of %s %s %s", r.Parameter, r.Change, r.Of, step, r.Step, side, fromText(r))
		if r.Class != "" {
			text = r.Class + ", " + text
		}
		if r.Cap != nil {
			text += fmt.Sprintf(", at most %s %%", *r.Cap)
		}
		p.line("%s", text)
		for _, label := range gradeOrder(s, r.FromByGrade) {
			p.line("    %s: from %s", label, r.FromByGrade[label])
		}
		if r.Note != "" {
			p.wrapAt(6, "%s", r.Note)
		}
	}
}

func fromText(r *grading.PriceRule) string {
	if len(r.FromByGrade) > 0 {
		return "the grade's own figure"
	}
	return r.From.String()
}

// gradeOrder lists the labels of a table by grade, best first.
func gradeOrder(s *grading.Standard, by map[grading.GradeLabel]grading.Decimal) []grading.GradeLabel {
	labels := sortedKeys(by)
	slices.SortStableFunc(labels, func(a, b grading.GradeLabel) int { return s.Rank(a) - s.Rank(b) })
	return labels
}

package report

import (
	"cmp"
	"fmt"
	"io"
	"strings"

	"threshline/grading"
	"threshline/grading/chance"
)

// Standard is one standard whole: limits, bases and source.
func Standard(s *grading.Standard) string {
	var p page
	p.table(s)
	return p.String()
}

// List prints id, status and title of each standard.
func List(out io.Writer, all []*grading.Standard) (err error) {
	recalled := false
	for _, s := range all {
		mark := " "
		if s.Status.Warns() {
			mark, recalled = "!", true
		}
		if _, err := fmt.Fprintf(out, "%s %-18s %-11s %s\n", mark, s.ID, s.Status, s.Title); err != nil {
			return err
		}
	}
	if recalled {
		_, err = fmt.Fprintln(out, "! recalled, or read in a doubtful copy only: check the limits against the standard before use")
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
	p.line("rule     %s: %s", s.Rule, ruleText(s))
	p.rounding(s)
	p.line("a lot below the last grade is called %q", s.OutOfGrade)
	if text := defectOrder(s, s.DefaultClass); text != "" {
		p.wrap("%s", text)
	}
	p.parameters(s)
	p.limits(s)
	p.matrix(s)
	p.gates(s)
	p.prices(s)
	p.assumed(s)
	if s.Note != "" {
		p.heading("Note")
		p.wrap("%s", s.Note)
	}
}

// assumed lists what in a grade by hand does not come from the standard: readings that
// stand for others, what is less well known, the meter's step, and the figures that the
// chances rest on.
func (p *page) assumed(s *grading.Standard) {
	p.heading("Assumed")
	for i := range s.Parameters {
		param := &s.Parameters[i]
		if text := made(param); param.Estimate && text != "" {
			p.wrap("%s: that %s stands for the %s of the %s", param.ID, text, param.Unit, cmp.Or(string(param.Basis), "lot"))
		}
		if param.Status != "" {
			p.line("%s: %s, less well known than the rest of the table", param.ID, param.Status)
		}
	}
	if s.MeterStep != 0 {
		p.line("that a mean of meter readings is worth its step of %s", s.MeterStep)
	}
	c := chance.DefaultCertainty()
	p.wrap("for chances, where a programme sets none: a speck of chaff weighs %g g, a stone %g g, a grain %g g and husked %g g; "+
		"one reading of a meter deviates by %g points, and a meter that nobody checked by %g more; the scale's step is %g g",
		c.SpeckWeight, c.StoneWeight, c.GrainWeight, c.HuskedWeight, c.MeterRepeatability, c.MeterDoubt, c.ScaleStep)
}

// ruleText says how parameters make the grade.
func ruleText(s *grading.Standard) string {
	switch s.Rule {
	case grading.MatrixOf:
		return fmt.Sprintf("the cell of the table of %s against %s", s.Matrix.Row, s.Matrix.Column)
	case grading.LeadParam:
		return string(s.Lead) + " alone gives the grade; other limits that are missed are remarks"
	case grading.PassFail:
		return "every limit is met, or the lot fails"
	}
	return "the worst parameter decides"
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
		p.wrap("%s: %s, %s, %s", param.ID, param.Label, unitText(param), need)
		if len(param.Words) > 0 {
			p.line("    words, best first: %s", strings.Join(param.Words, ", "))
		}
		if param.PartOf != "" {
			p.line("    part of %s", param.PartOf)
		}
		if text := made(param); text != "" {
			p.wrapAt(4, "made of %s", text)
		}
		if param.Estimate {
			p.line("    from hand readings an estimate")
		}
		if param.Lab != "" {
			p.line("    by a laboratory: its %s", param.Lab)
		}
		if param.Samples > 0 {
			p.line("    the mean of at least %d samples", param.Samples)
		}
		if param.Repeatability > 0 {
			p.line("    two portions may differ by %s", param.Repeatability)
		}
		if param.Status != "" {
			p.line("    %s: less well known than the rest of the table", param.Status)
		}
		if param.Note != "" {
			p.wrapAt(6, "%s", param.Note)
		}
	}
}

// made is how a parameter's value is made of readings; "" when none makes it.
func made(param *grading.Parameter) string {
	var parts []string
	if param.Constant != 0 {
		parts = append(parts, param.Constant.String())
	}
	for i := range param.Terms {
		t := &param.Terms[i]
		text := madeOf(t, func(f grading.Field) string { return f.String() })
		if t.Kind == grading.MeanOf {
			text = "the mean of the moisture readings"
		}
		if t.Kind == grading.CountPer {
			text += fmt.Sprintf(" x %s g", param.Unit.Weight())
		}
		if t.Negative {
			text = "less " + text
		} else if len(parts) > 0 {
			text = "plus " + text
		}
		if t.IfKnown {
			text += " (while it is not known, the grade is no better than)"
		}
		parts = append(parts, text)
	}
	return strings.Join(parts, " ")
}

// madeOf is a term's formula, each field in it written by field.
func madeOf(t *grading.Term, field func(grading.Field) string) string {
	names := make([]string, len(t.Fields))
	for i, f := range t.Fields {
		names[i] = field(f)
	}
	sum := strings.Join(names, " + ")
	if len(names) > 1 && t.Kind != grading.CountOf {
		sum = "(" + sum + ")"
	}
	switch t.Kind {
	case grading.ValueOf:
		text := string(t.Parameter)
		if t.Times != 0 {
			text = t.Times.String() + " x " + text
		}
		if t.Of != grading.NoField {
			text += fmt.Sprintf(" x %s / %s", field(t.Of), field(t.Over))
		}
		return text
	case grading.CountOf:
		return sum
	case grading.CountPer:
		return fmt.Sprintf("%s / %s", sum, field(t.Over))
	}
	return fmt.Sprintf("%s / %s x 100", sum, field(t.Over))
}

// unitText is a parameter's unit, with its basis and decimals if it has them.
func unitText(param *grading.Parameter) string {
	if param.Unit == grading.Word {
		return "a word"
	}
	text := string(param.Unit)
	if param.Basis != "" {
		text += ", basis " + string(param.Basis)
	}
	switch param.Decimals {
	case 0:
		return text + ", shown whole"
	case 1:
		return text + ", shown to 1 decimal"
	}
	return fmt.Sprintf("%s, shown to %d decimals", text, param.Decimals)
}

// limits prints the ladder. Of a matrix it prints only the order of grades, since the
// limits are the bands of its table.
func (p *page) limits(s *grading.Standard) {
	if s.Matrix != nil {
		p.heading("Grades, best first")
		labels := make([]grading.GradeLabel, len(s.Grades))
		for i := range s.Grades {
			labels[i] = s.Grades[i].Label
		}
		p.wrap("%s", Join(labels))
		return
	}
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
			return "to " + LimitText(tops[i], grading.PercentWeight)
		}
		return "over " + LimitText(tops[len(tops)-1], grading.PercentWeight)
	}
	rows := make([][]string, 1+len(m.Cells))
	rows[0] = []string{""}
	for j := range m.Cells[0] {
		rows[0] = append(rows[0], bands(m.ColumnMax, j))
	}
	for i, row := range m.Cells {
		rows[i+1] = []string{bands(m.RowMax, i)}
		for _, label := range row {
			rows[i+1] = append(rows[i+1], string(label))
		}
	}
	p.columns(rows)
}

// columns prints rows of cells below each other.
func (p *page) columns(rows [][]string) {
	width := make([]int, len(rows[0]))
	for _, row := range rows {
		for j, cell := range row {
			width[j] = max(width[j], len(cell))
		}
	}
	for _, row := range rows {
		line := ""
		for j, cell := range row {
			line += fmt.Sprintf("%-*s  ", width[j], cell)
		}
		p.line("%s", strings.TrimRight(line, " "))
	}
}

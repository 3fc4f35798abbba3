package report

import (
	"fmt"
	"slices"
	"strings"

	"threshline/grading"
)

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
			when = append(when, Join(g.Flags))
		}
		if r := g.Insects; r != nil {
			when = append(when, insectText(r))
		}
		if g.Parameter != "" {
			when = append(when, fmt.Sprintf("%s is not %s", g.Parameter, boundText(&g.Bound, s.Parameter(g.Parameter).Unit)))
		}
		p.wrap("%s: %s, when %s", g.ID, outcome, strings.Join(when, " or "))
	}
}

func insectText(r *grading.InsectRule) string {
	var parts []string
	if r.Weevils > 0 {
		parts = append(parts, someOf(r.Weevils, "live weevil"))
	}
	if r.WithWeevil > 0 {
		parts = append(parts, "a live weevil and "+someOf(r.WithWeevil, "other live insect"))
	}
	if r.Others > 0 {
		parts = append(parts, someOf(r.Others, "other live insect"))
	}
	return strings.Join(parts, ", or ")
}

// someOf is "1 live weevil or more", "2 live weevils or more".
func someOf(n int, what string) string {
	if n > 1 {
		what += "s"
	}
	return fmt.Sprintf("%d %s or more", n, what)
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
		p.wrap("%s", text)
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

package desk

import (
	"slices"
	"strings"

	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session"
)

// gate finds a gate of the programme's standard; nil for another standard's.
func (d *terms) gate(standard, id string) *grading.Gate {
	s := d.programme.Standard
	i := slices.IndexFunc(s.Gates, func(g grading.Gate) bool { return g.ID == id })
	if standard != "" && standard != s.ID || i < 0 {
		return nil
	}
	return &s.Gates[i]
}

// gateLabel is what a gate looks for, such as "mould, or treated seed".
func (d *terms) gateLabel(standard, id string) string {
	if g := d.gate(standard, id); g != nil {
		return strings.Join(conditions(g), ", or ")
	}
	if id == grading.WetGate {
		return paper.Say("saw", grading.TooWet)
	}
	return paper.Say("gate", id)
}

// conditions returns in words the conditions that close a gate.
func conditions(g *grading.Gate) (when []string) {
	for _, f := range g.Flags {
		when = append(when, paper.Say("saw", f))
	}
	if g.Insects != nil {
		when = append(when, "live insects")
	}
	if g.Parameter != "" {
		when = append(when, string(g.Parameter)+" not "+boundText(&g.Bound, 1))
	}
	return when
}

// stoppedBy returns what the gate that stopped a check found, such as "treated
// seed", or what the gate looks for if the check does not say.
func (d *terms) stoppedBy(c *session.Check, id string) string {
	var found []string
	if wet := c.Readings.WetByHand(); id == grading.WetGate && wet != "" {
		return paper.Say("saw", wet)
	}
	if g := d.gate(c.StandardID, id); g != nil {
		for _, f := range c.Readings.Flags {
			if slices.Contains(g.Flags, f) {
				found = append(found, paper.Say("saw", f))
			}
		}
		if g.Insects != nil {
			found = append(found, "live insects")
		}
	}
	return paper.Or(strings.Join(found, ", "), d.gateLabel(c.StandardID, id))
}

package desk

import (
	"slices"
	"strings"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
	"threshline/session/programme"
)

// terms names people, parameters and what stops a lot.
type terms struct {
	programme *programme.Programme
	tables    []*grading.Standard // besides the one in force
	person    func(session.PersonID) (ledger.Person, bool)
}

// nameOf returns the name of a person if the visitor may see it, otherwise the
// id of the record, which says nothing about the person.
func (d *terms) nameOf(v *access.Visitor, id session.PersonID) string {
	if id == "" {
		return "nobody"
	}
	if p, ok := d.person(id); ok && p.Name != "" && v.Knows(p.District) {
		return p.Name
	}
	return string(id)
}

// parameterLabel is a parameter in its standard's own words.
func (d *terms) parameterLabel(standard string, id grading.ParameterID) string {
	if s := d.programme.Standard; standard == "" || standard == s.ID {
		if p := s.Parameter(id); p != nil {
			return p.Label
		}
	}
	return paper.Say("parameter", id)
}

// holding lists what holds grades down, most often first; at most most rows, 0
// is all.
func (d *terms) holding(s *ledger.Summary, c *chosen, most int) paper.Table {
	t := paper.Table{
		Caption: "What holds grades down, most often first. A lot can be held down by several things at once.",
		Head:    paper.Heads("Parameter", "#Lots", "#Share of all", "#95% interval", "#Alone", "#Weight"),
	}
	for i, tally := range s.Deciding {
		if most > 0 && i >= most {
			break
		}
		t.Rows = append(t.Rows, paper.Linked(c.lots("deciding", string(tally.Key)),
			d.parameterLabel(tally.Standard, tally.Key), paper.Count(tally.Share.Count), paper.Percent(tally.Share.Value()),
			paper.Interval(tally.Share), paper.Count(tally.Alone), paper.Weight(tally.KG)))
	}
	return t
}

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

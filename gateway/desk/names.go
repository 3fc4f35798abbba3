package desk

import (
	"threshline/grading"
	"threshline/session"
)

// nameOf is what a visitor may know somebody by: the name where they may see
// it, otherwise the record's own id, which says nothing about the person.
func (d *Desk) nameOf(v *visitor, id session.PersonID) string {
	if id == "" {
		return "nobody"
	}
	if p, ok := d.cfg.Ledger.View().Person(id); ok && p.Name != "" && v.knows(p.District) {
		return p.Name
	}
	return string(id)
}

// parameterLabel is a parameter in its standard's own words.
func (d *Desk) parameterLabel(standard string, id grading.ParameterID) string {
	if s := d.cfg.Programme.Standard; standard == "" || standard == s.ID {
		if p := s.Parameter(id); p != nil {
			return p.Label
		}
	}
	return say("parameter", id)
}

// unit says what a value is measured in.
func unit(u grading.Unit, b grading.Basis) string {
	if u == "" {
		return ""
	}
	if b == "" || u == grading.PercentWet || !u.Percentage() {
		return string(u)
	}
	return string(u) + " " + say("basis", b)
}

package desk

import (
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

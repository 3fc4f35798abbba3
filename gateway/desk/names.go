package desk

import (
	"fmt"
	"sync"

	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
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

// cache keeps the latest summaries: a page asks for the same one several times,
// and several people look at the same season.
type cache struct {
	mu       sync.Mutex
	position uint64
	count    int
	kept     map[string]ledger.Summary
}

// mostKept is how many summaries are kept.
const mostKept = 64

// summary reads the checks of a filter together.
func (d *Desk) summary(f ledger.Filter) ledger.Summary {
	view := d.cfg.Ledger.View()
	key := fmt.Sprintf("%+v", f)
	d.cache.mu.Lock()
	if d.cache.kept == nil || d.cache.position != view.Position() || d.cache.count != view.Len() || len(d.cache.kept) >= mostKept {
		d.cache.kept, d.cache.position, d.cache.count = map[string]ledger.Summary{}, view.Position(), view.Len()
	}
	s, ok := d.cache.kept[key]
	d.cache.mu.Unlock()
	if ok {
		return s
	}
	s = view.Summary(f)
	d.cache.mu.Lock()
	if d.cache.position == view.Position() {
		d.cache.kept[key] = s
	}
	d.cache.mu.Unlock()
	return s
}

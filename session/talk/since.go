package talk

import (
	"threshline/session"
	"threshline/session/programme"
)

// Since compares a re-check with the check before; false when there is no check
// before, or it was withdrawn.
func (t *Filing) Since(c session.Check) (programme.Since, bool) {
	before, ok := t.before(c.Recheck)
	if byHand := c.Readings.ByHand() || before.Readings.ByHand(); byHand || !ok || c.State != session.Filed || before.State != session.Filed {
		return programme.Since{}, false
	}
	return t.Programme.Compare(&before, &c, t.PersonOf(before.Reporter).Kit, t.PersonOf(c.Reporter).Kit), true
}

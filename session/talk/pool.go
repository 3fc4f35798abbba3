package talk

import (
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// pooled gives the readings that a draft is judged by: those of its sample, or,
// pooled, those of its sample and the check before it.
func (t *Talk) pooled(draft *session.Draft) (r grading.Readings, pooled bool) {
	before, ok := t.before(draft.Recheck)
	if !ok {
		return draft.Readings, false
	}
	if _, changed := t.Unsound(before); changed {
		return draft.Readings, false
	}
	both, alone := t.Programme.Pool(&before, &draft.Readings, draft.Paces, t.Person.Kit, t.In.At)
	if alone != programme.Together {
		return draft.Readings, false
	}
	return both, true
}

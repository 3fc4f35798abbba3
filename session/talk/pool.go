package talk

import (
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// pooled returns the readings by which a draft is judged: those of its sample
// or, when pooled, those of its sample and of the check before.
func (t *Filing) pooled(draft *session.Draft) (r grading.Readings, pooled bool) {
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

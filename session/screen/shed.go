package screen

import (
	"slices"

	"threshline/grading"
	"threshline/session"
	"threshline/session/talk"
)

// sameWeight is by how much, as a part of it, a new sample may differ from the one
// before and still stand for it: the brown rice of both is the same share of
// either. Source: assumed.
const sameWeight = 20

// shed lets go of what was weighed of the sample before, when a lot is checked
// again with a sample of another weight: it belongs to that sample, and against
// the new one it cannot be. What came just now stays.
func shed(t *talk.Talk, draft *session.Draft, r *grading.Readings, came []grading.Field) {
	before, ok := t.Check(draft.Recheck)
	if draft.Recheck == "" || !ok || !slices.Contains(came, grading.SampleWeight) {
		return
	}
	was, had := before.Readings.Get(grading.SampleWeight)
	is, has := r.Get(grading.SampleWeight)
	if !had || !has || max(was-is, is-was) <= was/sameWeight {
		return
	}
	for _, f := range grading.FieldsOf(grading.Weighed) {
		old, kept := before.Readings.Get(f)
		if now, there := r.Get(f); f != grading.SampleWeight && kept && there && now == old && !slices.Contains(came, f) {
			r.Unset(f)
		}
	}
}

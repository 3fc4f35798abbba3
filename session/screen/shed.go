package screen

import (
	"slices"

	"threshline/grading"
	"threshline/session"
	"threshline/session/talk"
)

// sameWeight says when a new sample still stands for the one before: when their
// weights differ by at most one part in so many. Brown rice is then the same
// share of both. Source: assumed.
const sameWeight = 20

// shed drops the weights of the sample before when a re-check has a sample of
// another weight: they belong to the old sample and do not fit the new one.
// Weights that came just now stay.
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

package programme

import (
	"maps"
	"slices"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/chance"
	"threshline/session"
)

// Alone says why a new sample of a lot was not pooled with the sample before. The words
// are under "recheck.alone_<id>".
type Alone string

// Why a sample stands alone.
const (
	// Together: it does not stand alone, the two were pooled.
	Together Alone = ""
	// WorkedOn: the check before advised to do something to the lot, so that the
	// lot is another one since.
	WorkedOn Alone = "worked_on"
	// OtherReadings: the two hold different readings, or were made by different
	// editions of the procedure.
	OtherReadings Alone = "other_readings"
	// TooFarApart: two samples of one lot are hardly ever so far apart.
	TooFarApart Alone = "apart"
	// TooLate: the sample before is too old, see poolWithin.
	TooLate Alone = "late"
	// ChangedSince: the check before was corrected since, or counts itself one that was
	// changed.
	ChangedSince Alone = "changed"
)

const (
	// poolWithin is for how long after a check a second sample is still one of the same
	// lot: bagged paddy takes up or loses water within weeks. Source: our choice,
	// [ASSUMED-ADVICE].
	poolWithin = 14 * 24 * time.Hour
	// seldom is how unlikely the difference of two samples must be, over all that was
	// measured, for them to be taken for samples of two lots. Source: our choice,
	// [ASSUMED-ADVICE].
	seldom = 0.01
)

// Resamples reports whether a re-check of the check is another sample of an unchanged
// lot: the grade was close, and the advice was to measure again.
func Resamples(c *session.Check) bool { return c.Remedy == advice.MeasureAgain && c.Borderline }

// Pool combines a new sample with the check before, as readings of one larger sample.
// paces tells what was measured again: the rest was copied from the check before and is
// not counted twice.
func (p *Programme) Pool(before *session.Check, sample *grading.Readings, paces map[grading.Field]int, kit session.Kit, at time.Time) (grading.Readings, Alone) {
	switch {
	case !Resamples(before) || before.State == session.Withdrawn:
		return grading.Readings{}, WorkedOn
	case before.Procedure != session.Procedure:
		return grading.Readings{}, OtherReadings
	case at.Sub(before.At) > poolWithin:
		return grading.Readings{}, TooLate
	}
	anew := measuredAnew(before, sample, paces)
	both, err := grading.Combine(p.Standard, before.Readings, anew)
	if err != nil || !wholly(&anew, &both) {
		return grading.Readings{}, OtherReadings
	}
	if _, err := grading.Grade(p.Standard, both.Readings); err != nil {
		return grading.Readings{}, OtherReadings
	}
	apart, err := chance.Differences(p.Standard, before.Readings, anew, p.Certainty(kit))
	if err != nil {
		return grading.Readings{}, OtherReadings
	}
	for _, d := range apart {
		if d.Chance*float64(len(apart)) < seldom { // Bonferroni
			return grading.Readings{}, TooFarApart
		}
	}
	return both.Readings, Together
}

// measuredAnew returns what a re-check's own sample measured.
func measuredAnew(before *session.Check, sample *grading.Readings, paces map[grading.Field]int) grading.Readings {
	anew := sample.Clone()
	counts := false
	for _, f := range grading.FieldsOf(grading.Pan) {
		_, ok := paces[f]
		counts = counts || ok && f != grading.Counted
	}
	for _, f := range grading.Fields() {
		_, ok := paces[f]
		if f == grading.Counted {
			ok = ok || counts // it comes with the counts
		}
		if f == grading.LiveOthers {
			_, ok = paces[grading.LiveWeevils] // they are asked together
		}
		if !ok {
			anew.Unset(f)
		}
	}
	maps.DeleteFunc(anew.Values, func(id grading.ParameterID, v grading.Decimal) bool { return before.Readings.Values[id] == v })
	maps.DeleteFunc(anew.Words, func(id grading.ParameterID, w string) bool { return before.Readings.Words[id] == w })
	return anew
}

// wholly reports whether all of a new sample, the second of two, was added. Grams are
// added only to grams of the same fields, and grains likewise.
func wholly(anew *grading.Readings, both *grading.Combined) bool {
	sieved := slices.ContainsFunc(grading.FieldsOf(grading.Weighed), anew.Has)
	panned := slices.ContainsFunc(grading.FieldsOf(grading.Pan), anew.Has)
	if sieved && len(both.Sieved) < 2 || panned && len(both.Panned) < 2 {
		return false
	}
	return sieved || panned || anew.Has(grading.Moisture) || len(anew.Values) > 0
}

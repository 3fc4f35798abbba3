package session

import (
	"maps"
	"slices"
	"time"

	"threshline/advice"
	"threshline/grading"
)

// Alone says why a new sample of a lot was not taken together with the sample
// before. The words are under "recheck.alone_<id>".
type Alone string

// Why a sample stands alone.
const (
	// Together: it does not, the two were pooled.
	Together Alone = ""
	// WorkedOn: the check before advised to do something to the lot, so that the
	// lot is another one since.
	WorkedOn Alone = "worked_on"
	// OtherReadings: the two hold different readings.
	OtherReadings Alone = "other_readings"
	// TooFarApart: two samples of one lot are hardly ever so far apart.
	TooFarApart Alone = "apart"
	// TooLate: the sample before is too old, see poolWithin.
	TooLate Alone = "late"
	// ChangedSince: the check before was corrected since, or rests itself on one
	// that was changed.
	ChangedSince Alone = "changed"
)

const (
	// poolWithin is how long after a check a second sample is still one of the
	// same lot: bagged paddy takes up or loses water within weeks. Source: our
	// choice, [ASSUMED-ADVICE].
	poolWithin = 14 * 24 * time.Hour
	// seldom is how unlikely two samples of one lot must be to lie as far apart,
	// over all that was measured, to be taken for samples of two. Source: our
	// choice, [ASSUMED-ADVICE].
	seldom = 0.01
)

// resamples tells whether a re-check of the check is another sample of a lot to
// which nothing is done: the grade was close, and measuring again was advised.
func (c *Check) resamples() bool { return c.Remedy == advice.MeasureAgain && c.Borderline }

// pool takes a new sample together with the check before, as readings of one
// larger sample; paces tell what of the sample was measured anew, since the
// rest was taken over from the check before and is not counted twice.
func (p *Programme) pool(before *Check, sample *grading.Readings, paces map[grading.Field]int, kit Kit, at time.Time) (grading.Readings, Alone) {
	switch {
	case !before.resamples() || before.State == Withdrawn:
		return grading.Readings{}, WorkedOn
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
	apart, err := grading.Differences(p.Standard, before.Readings, anew, p.Certainty(kit))
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

// measuredAnew is what a re-check's sample gave itself.
func measuredAnew(before *Check, sample *grading.Readings, paces map[grading.Field]int) grading.Readings {
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

// wholly tells whether all of a new sample, the second of two, went into the
// whole: grams are added to grams of the same fields only, and so are kernels.
func wholly(anew *grading.Readings, both *grading.Combined) bool {
	sieved := slices.ContainsFunc(grading.FieldsOf(grading.Weighed), anew.Has)
	panned := slices.ContainsFunc(grading.FieldsOf(grading.Pan), anew.Has)
	if sieved && len(both.Sieved) < 2 || panned && len(both.Panned) < 2 {
		return false
	}
	return sieved || panned || anew.Has(grading.Moisture) || len(anew.Values) > 0
}

// pooled gives the readings that a draft is judged by: those of its sample, or,
// pooled, those of its sample and the check before it.
func (t *Talk) pooled(draft *Draft) (r grading.Readings, pooled bool) {
	before, ok := t.before(draft.Recheck)
	if !ok {
		return draft.Readings, false
	}
	if _, changed := t.Unsound(before); changed {
		return draft.Readings, false
	}
	both, alone := t.Programme.pool(&before, &draft.Readings, draft.Paces, t.Person.Kit, t.In.At)
	if alone != Together {
		return draft.Readings, false
	}
	return both, true
}

// Unsound gives the sample that a pooled check counts and that holds no more:
// it was withdrawn since, or corrected to other readings. What was made of both
// is then true of nothing, until the lot is checked again or the check corrected.
func (t *Talk) Unsound(c Check) (changed Slip, unsound bool) { return Unsound(c, t.Check) }

// Unsound is Talk.Unsound with what finds a check.
func Unsound(c Check, find func(Slip) (Check, bool)) (changed Slip, unsound bool) {
	for range longestChain {
		if !c.Pooled() {
			return "", false
		}
		counted, ok := find(c.Recheck)
		if !ok {
			return "", false
		}
		now, ok := Latest(counted.Slip, find)
		if !ok || now.State == Withdrawn || !now.Readings.Same(&counted.Readings) {
			return counted.Slip, true
		}
		c = counted
	}
	return "", false
}

// before is the check that a re-check names, or what replaced it since.
func (t *Talk) before(slip Slip) (Check, bool) { return Latest(slip, t.Check) }

// Latest is a check, or what it was corrected to, and that, by what finds a
// check; false where there is none.
func Latest(slip Slip, find func(Slip) (Check, bool)) (Check, bool) {
	for range longestChain {
		if slip == "" { // nothing is looked for: most checks re-check none
			break
		}
		c, ok := find(slip)
		if !ok {
			break
		}
		if c.State != Corrected || c.ReplacedBy == "" {
			return c, true
		}
		slip = c.ReplacedBy
	}
	return Check{}, false
}

// longestChain of corrections is followed; more is a mistake of the store's.
const longestChain = 16

// sampled lists what a check measured, all of which a new sample measures anew.
func sampled(c *Check) []grading.Field {
	return slices.DeleteFunc(grading.Fields(), func(f grading.Field) bool { return !c.Readings.Has(f) })
}

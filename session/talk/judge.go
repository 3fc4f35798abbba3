package talk

import (
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// Judge judges the readings of a lot as they were at a time, with what the
// checks of the grower's other lots found; own are the slips of this lot, if it
// has any. The result is valid until the turn ends.
func (t *Filing) Judge(lot session.Lot, r grading.Readings, at time.Time, own ...session.Slip) (programme.Judged, error) {
	j, ok := t.machine.judges.Get().(*programme.Judge)
	if !ok {
		j = new(programme.Judge)
	}
	t.judges = append(t.judges, j)
	return j.Lot(t.Programme, lot, r, t.Person.Kit, at, t.past(lot.Grower, at, own))
}

// dismiss returns this turn's judges at its end, for other turns to use.
func (t *Filing) dismiss() {
	for _, j := range t.judges {
		t.machine.judges.Put(j)
	}
	t.judges = nil
}

// Judged returns the judgement of a filed check, as of when it was filed. It is
// worked out once in a turn, since filing and showing a check both ask for it.
func (t *Filing) Judged(c session.Check) (programme.Judged, error) {
	if j, ok := t.judged[c.Slip]; ok {
		return j, nil
	}
	j, err := t.Judge(c.Lot, c.Readings, c.At, c.Recheck)
	if err == nil {
		t.keepJudged(c.Slip, j)
	}
	return j, err
}

// Ways compares what can be done with the lot of a filed check.
func (t *Filing) Ways(c session.Check) advice.Ways {
	return t.Programme.Ways(c.Lot, c.Readings, t.Person.Kit, c.At, t.past(c.Lot.Grower, c.At, []session.Slip{c.Recheck}))
}

func (t *Filing) keepJudged(slip session.Slip, j programme.Judged) {
	if t.judged == nil {
		t.judged = map[session.Slip]programme.Judged{}
	}
	t.judged[slip] = j
}

// Meter is the person's moisture meter, as it is known today.
func (t *Filing) Meter() grading.Meter { return t.Programme.MeterOf(t.Person.Kit, t.In.At) }

// Since compares a re-check with the check before; false when there is no check
// before, or it was withdrawn.
func (t *Filing) Since(c session.Check) (programme.Since, bool) {
	before, ok := t.before(c.Recheck)
	if byHand := c.Readings.ByHand() || before.Readings.ByHand(); byHand || !ok || c.State != session.Filed || before.State != session.Filed {
		return programme.Since{}, false
	}
	return t.Programme.Compare(&before, &c, t.PersonOf(before.Reporter).Kit, t.PersonOf(c.Reporter).Kit), true
}

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

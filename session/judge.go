package session

import (
	"time"

	"threshline/advice"
	"threshline/grading"
)

// Certainty is how well the programme's and the person's tools can know a lot.
func (p *Programme) Certainty(kit Kit) grading.Certainty {
	c := grading.DefaultCertainty()
	c.Usual = p.Advice.Usual
	if v := p.Advice.MeterRepeatability; v > 0 {
		c.MeterRepeatability = v.Float()
	}
	if v := p.Advice.BalanceStep; v > 0 {
		c.BalanceStep = v.Float()
	}
	if kit.BalanceStep > 0 {
		c.BalanceStep = grading.Decimal(kit.BalanceStep).Float()
	}
	return c
}

// Judged is a lot's grade and the advice on it.
type Judged struct {
	Result grading.Result
	Advice advice.Advice
}

// Judge grades readings by the programme's standard and advises on the lot.
// Errors are those of grading.Assess.
func (p *Programme) Judge(lot Lot, r grading.Readings, kit Kit, at time.Time, past []advice.Past) (Judged, error) {
	var one judge
	return one.judge(p, lot, r, kit, at, past)
}

// judge judges one lot after another, and works out again only what differs.
// What it found last is good until it judges again.
type judge struct {
	adviser advice.Adviser
	lot     advice.Case
}

func (j *judge) judge(p *Programme, lot Lot, r grading.Readings, kit Kit, at time.Time, past []advice.Past) (Judged, error) {
	settings := p.Advice
	if kit.BalanceStep > 0 {
		settings.BalanceStep = grading.Decimal(kit.BalanceStep)
	}
	j.lot = advice.Case{
		Standard: p.Standard, Readings: r, Result: j.lot.Result, KG: lot.KG, At: at, History: past, Settings: settings,
	}
	if err := j.adviser.Assess(&j.lot); err != nil {
		return Judged{}, err
	}
	return Judged{j.lot.Result, j.adviser.Advise(&j.lot)}, nil
}

// Judge judges the readings of a lot as they were at a time, with what the checks
// of the grower's other lots found; own are the slips of this lot, if it has any.
// What it gives is good until the turn ends.
func (t *Talk) Judge(lot Lot, r grading.Readings, at time.Time, own ...Slip) (Judged, error) {
	j, ok := t.machine.judges.Get().(*judge)
	if !ok {
		j = new(judge)
	}
	t.judges = append(t.judges, j)
	return j.judge(t.Programme, lot, r, t.Person.Kit, at, t.past(lot.Grower, at, own))
}

// dismiss lets other turns have the judges of this one, which is over.
func (t *Talk) dismiss() {
	for _, j := range t.judges {
		t.machine.judges.Put(j)
	}
	t.judges = nil
}

// JudgeCheck judges a filed check as of when it was filed. Within a turn that
// is done once: filing and showing a check ask for the same.
func (t *Talk) JudgeCheck(c Check) (Judged, error) {
	if j, ok := t.judged[c.Slip]; ok {
		return j, nil
	}
	j, err := t.Judge(c.Lot, c.Readings, c.At, c.Recheck)
	if err == nil {
		t.keepJudged(c.Slip, j)
	}
	return j, err
}

func (t *Talk) keepJudged(slip Slip, j Judged) {
	if t.judged == nil {
		t.judged = map[Slip]Judged{}
	}
	t.judged[slip] = j
}

// past is what the last checks of a grower's other lots before a time found,
// newest first.
func (t *Talk) past(grower PersonID, before time.Time, own []Slip) (past []advice.Past) {
	if grower == "" {
		return nil
	}
	for _, n := range [...]int{mostPast, 3 * mostPast} { // more only when some do not count
		checks, err := t.view.ChecksOf(grower, n)
		t.fail(err)
		past = Past(checks, before, own...)
		if len(past) == mostPast || len(checks) < n {
			break
		}
	}
	return past
}

// Past is what of a grower's checks, newest first, shapes the advice on a lot:
// the last check of each of the last few lots before a time. A lot that was
// checked again is one lot, and the lot at hand, whose own slips are given, is
// none of them: what recurs recurs from lot to lot.
func Past(checks []Check, before time.Time, own ...Slip) (past []advice.Past) {
	seen := map[Slip]bool{}
	for _, s := range own {
		seen[s] = true
	}
	for i := range checks {
		c := &checks[i]
		if c.State != Filed || !c.At.Before(before) {
			continue
		}
		if !seen[c.Slip] && len(past) < mostPast {
			past = append(past, advice.Past{At: c.At, Deciding: c.Deciding, Remedy: c.Remedy, Rank: c.Rank, Of: c.Of})
		}
		if c.Recheck != "" {
			seen[c.Recheck] = true
		}
	}
	return past
}

// mostPast is how many earlier checks of a grower the advice looks at.
const mostPast = 3

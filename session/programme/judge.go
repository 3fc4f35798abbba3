package programme

import (
	"slices"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/byhand"
	"threshline/grading/chance"
	"threshline/session"
)

// Certainty is how well the programme's and the person's tools can know a lot.
func (p *Programme) Certainty(kit session.Kit) chance.Certainty {
	c := chance.DefaultCertainty()
	c.Usual = p.Advice.Usual
	if v := p.Advice.MeterRepeatability; v > 0 {
		c.MeterRepeatability = v.Float()
	}
	if v := p.Advice.ScaleStep; v > 0 {
		c.ScaleStep = v.Float()
	}
	if kit.ScaleStep > 0 {
		c.ScaleStep = grading.Decimal(kit.ScaleStep).Float()
	}
	return c
}

// Judged is a lot's grade and the advice on it.
type Judged struct {
	Result grading.Result
	Advice advice.Advice
}

// Judge grades readings by the programme's standard and advises on the lot.
// Errors are those of chance.Assess.
func (p *Programme) Judge(lot session.Lot, r grading.Readings, kit session.Kit, at time.Time, past []advice.Past) (Judged, error) {
	var one Judge
	return one.Lot(p, lot, r, kit, at, past)
}

// Judge judges lots one after another and works out again only what changed. A result
// is valid until the next call.
type Judge struct {
	adviser advice.Adviser
	lot     advice.Case
}

// Lot judges the readings of a lot by a programme: see Programme.Judge.
func (j *Judge) Lot(p *Programme, lot session.Lot, r grading.Readings, kit session.Kit, at time.Time, past []advice.Past) (Judged, error) {
	res := j.lot.Result
	j.lot = p.caseOf(lot, r, kit, at, past)
	j.lot.Result = res
	if err := j.adviser.Assess(&j.lot); err != nil {
		return Judged{}, err
	}
	return Judged{j.lot.Result, j.adviser.Advise(&j.lot)}, nil
}

// Ways compares what can be done with a lot: see advice.WaysFor.
func (p *Programme) Ways(lot session.Lot, r grading.Readings, kit session.Kit, at time.Time, past []advice.Past) advice.Ways {
	return advice.WaysFor(p.caseOf(lot, r, kit, at, past))
}

func (p *Programme) caseOf(lot session.Lot, r grading.Readings, kit session.Kit, at time.Time, past []advice.Past) advice.Case {
	settings := p.Advice
	if kit.ScaleStep > 0 {
		settings.ScaleStep = grading.Decimal(kit.ScaleStep)
	}
	return advice.Case{Standard: p.Standard, Readings: r, KG: lot.KG, District: lot.District, At: at, History: past, Settings: settings}
}

// Record writes what was decided, and by which table, into a check.
func (j *Judged) Record(c *session.Check, s *grading.Standard) {
	r, best := &j.Result, &j.Advice.Best
	c.StandardID, c.Edition = s.ID, s.Edition
	c.Grade, c.Rank, c.Of = r.Grade, r.Rank, r.Of
	c.Complete, c.Borderline, c.Confidence = r.Complete, r.Borderline, r.Confidence
	c.Deciding, c.Missing, c.Gates = slices.Clone(r.Deciding), slices.Clone(r.Missing), slices.Clone(r.Gates)
	c.Remedy, c.Becomes, c.BecomesRank = best.Remedy, best.Becomes, best.BecomesRank
	c.Values = map[grading.ParameterID]grading.Decimal{}
	for _, v := range r.Parameters {
		if v.Measured && v.Unit != grading.Word {
			c.Values[v.ID] = v.Shown
		}
	}
	ungrade(c)
}

// ungrade takes the grade and what goes with it out of a check by hand, unless a
// sign stops its lot: hands do not grade.
func ungrade(c *session.Check) {
	if !c.Readings.ByHand() || slices.ContainsFunc(c.Gates, func(g string) bool { return g != grading.WetGate }) {
		return
	}
	c.Grade, c.Rank, c.Of, c.Complete, c.Borderline, c.Confidence = "", 0, 0, false, false, 0
	c.Deciding, c.Missing, c.Values = nil, nil, nil
	c.Remedy, c.Becomes, c.BecomesRank = "", "", 0
}

// Past lists the checks of a grower that shape the advice on a lot, newest first: of
// each of the last few lots before a time, its last check with the kit. A lot that was checked again
// counts once. The lot at hand, whose own slips are given, is left out: a fault recurs
// from lot to lot.
func Past(checks []session.Check, before time.Time, own ...session.Slip) (past []advice.Past) {
	seen := map[session.Slip]bool{}
	for _, s := range own {
		seen[s] = true
	}
	for i := range checks {
		c := &checks[i]
		if c.State != session.Filed || !c.At.Before(before) || c.Readings.ByHand() {
			continue
		}
		if !seen[c.Slip] && len(past) < MostPast {
			past = append(past, advice.Past{At: c.At, Deciding: c.Deciding, Remedy: c.Remedy, Rank: c.Rank, Of: c.Of})
		}
		if c.Recheck != "" {
			seen[c.Recheck] = true
		}
	}
	return past
}

// MostPast is how many earlier checks of a grower the advice looks at.
const MostPast = 3

// HandJudged is what a check by hand lets a lot be, and the advice on it. It never
// has a grade: the likely ones are in Likely.
type HandJudged struct {
	Likely byhand.Likely
	Advice advice.Hand
}

// Stops reports whether the lot was stopped by what was seen or smelt: then nothing
// is said of likely grades.
func (j *HandJudged) Stops() bool { return j.Advice.Stops }

// LikelyByHand says what the counts of a check by hand let a lot be, and nothing
// of what to do about it. Errors are those of byhand.Assess.
func (p *Programme) LikelyByHand(lot session.Lot, r grading.Readings) (HandJudged, error) {
	likely, err := byhand.Assess(p.Standard, &r, byhand.Options{Usual: p.Advice.Usual, Bags: lot.Bags})
	return HandJudged{Likely: likely}, err
}

// JudgeHand says what the counts of a check by hand let a lot be, by the
// programme's standard, and advises on it. Errors are those of byhand.Assess.
func (p *Programme) JudgeHand(lot session.Lot, r grading.Readings, at time.Time, past []advice.Past) (HandJudged, error) {
	j, err := p.LikelyByHand(lot, r)
	if err != nil {
		return HandJudged{}, err
	}
	j.Advice = advice.ByHand(p.caseOf(lot, r, session.Kit{}, at, past), &j.Likely)
	return j, nil
}

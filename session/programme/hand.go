package programme

import (
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/byhand"
	"threshline/session"
)

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

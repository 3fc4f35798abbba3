package chance

import "threshline/grading"

// Trial is the result for a lot as it would be after a change.
type Trial struct {
	Grade grading.GradeLabel
	Rank  int
	// OrBetter is the chance of each grade of the ladder or a better one, best
	// first: what is left over after the last is out of grade. Of an incomplete
	// lot it takes the parameters that were measured, and so is an upper bound.
	// The slice is used again by the next lot.
	OrBetter []float64
}

// Like names the lot from which the next tried lots come. Work on a lot does
// not make it one of a cleaner season, so they are weighed like this lot.
// Assess does the same with the lot that it assesses.
func (a *Assessor) Like(r *grading.Readings) { a.weigh(r) }

// Try grades a lot as it would be, after a remedy say. Grade, rank and chances
// are those of Assess for a lot that is Like itself, to the last bit, in a
// fraction of the time: bounds and reasons are left out, and a parameter that is
// made of the same readings as in one of the last lots tried is not worked out
// again. What an earlier Assess wrote stays as it is. Errors are those of Assess.
func (a *Assessor) Try(r *grading.Readings) (Trial, error) {
	e, res := a.evaluator, &a.trial
	class, err := e.Class(r)
	if err != nil {
		return Trial{}, err
	}
	if res.Parameters == nil {
		res.Parameters = make([]grading.ParameterResult, len(a.s.Parameters))
	}
	res.Class, res.Gates, res.Remarks = class, res.Gates[:0], res.Remarks[:0]
	a.r, a.res, a.bounding = r, res, 0
	for i := range a.s.Parameters {
		if err := a.recall(i); err != nil {
			return Trial{}, err
		}
	}
	if res.Rank, err = e.RankFound(r, class, a.found, res); err != nil {
		return Trial{}, err
	}
	a.orBetterOfAll()
	return Trial{Grade: e.Label(res.Rank), Rank: res.Rank, OrBetter: a.orBetter[:len(a.s.Grades)]}, nil
}

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

// Like tries the lot from which the next tried lots come. Work on a lot does
// not make it one of a cleaner season, so they are weighed like this lot.
// Assess weighs by the lot that it assesses. Errors are those of Try.
func (a *Assessor) Like(r *grading.Readings) (Trial, error) {
	a.weigh(r)
	would, err := a.Try(r)
	if err == nil {
		a.likeWhat, a.likeClass, a.hasLike = r.Clone(), a.res.Class, true
		a.keepMet()
	}
	return would, err
}

// keepMet writes down the chances of all limits, by kind; what was not measured
// keeps them.
func (a *Assessor) keepMet() {
	for i := range a.res.Parameters {
		a.memory[i].like = a.memory[i].shown
		for k := range a.count {
			like := a.like[k][i*len(a.s.Grades):][:len(a.s.Grades)]
			if copy(like, a.metBy(k, i)); !a.res.Parameters[i].Measured {
				for j := range like {
					like[j] = 1
				}
			}
		}
	}
}

// AtBest fills orBetter, by grade, with the chances of the lot that the next are
// Like if the parameters for which sure holds kept all their limits: where the worst
// parameter gives the grade, and but for the gates. No work on these alone makes a lot
// better, but for what it changes of the others' beliefs.
func (a *Assessor) AtBest(orBetter []float64, sure func(i int) bool) {
	clear(orBetter)
	grades := len(orBetter)
	for k := range a.count {
		for i := range a.ofKind[:grades] {
			a.ofKind[i] = a.weights[k]
		}
		for j := range a.s.Parameters {
			if sure(j) {
				continue
			}
			for i, meets := range a.like[k][j*grades : (j+1)*grades] {
				a.ofKind[i] *= meets
			}
		}
		for i, chance := range a.ofKind[:grades] {
			orBetter[i] += chance
		}
	}
}

// Try grades a lot as it would be, after a remedy say. Grade, rank and chances
// are those of Assess for a lot that is Like itself, to the last bit, in a
// fraction of the time: bounds and reasons are left out, and a parameter that is
// made of the same readings as in one of the last lots tried is not worked out
// again. What an earlier Assess wrote stays as it is. Errors are those of Assess.
func (a *Assessor) Try(r *grading.Readings) (Trial, error) {
	e, res := a.evaluator, &a.trial
	changed := r.Changed(&a.likeWhat)
	if !a.hasLike { // nothing is known of an earlier lot
		changed = allChanged
	}
	class, err := e.Still(r, changed, a.likeClass)
	if err != nil {
		return Trial{}, err
	}
	if res.Parameters == nil {
		res.Parameters = make([]grading.ParameterResult, len(a.s.Parameters))
		for i := range res.Parameters {
			res.Parameters[i].ID = a.s.Parameters[i].ID
		}
	}
	res.Class, res.Gates, res.Remarks = class, res.Gates[:0], res.Remarks[:0]
	a.r, a.res, a.bounding = r, res, 0
	for i := range a.s.Parameters {
		if err := a.recall(i, changed); err != nil {
			return Trial{}, err
		}
	}
	if res.Rank, err = e.RankFound(r, class, a.found, res); err != nil {
		return Trial{}, err
	}
	a.orBetterOfAll()
	return Trial{Grade: e.Label(res.Rank), Rank: res.Rank, OrBetter: a.orBetter[:len(a.s.Grades)]}, nil
}

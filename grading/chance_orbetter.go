package grading

// OrBetter gives, for the lot last assessed, the chance of each grade or a
// better one, best first: what is left over after the last is out of grade. For
// an incomplete lot it takes the parameters that were measured, so it is an
// upper bound. The slice is used again by the next assessment; it is empty
// before the first.
func (a *Assessor) OrBetter() []float64 {
	if a.res == nil {
		return nil
	}
	if !a.res.Complete {
		a.ladder()
		a.gates()
	}
	return a.orBetter[:len(a.s.Grades)]
}

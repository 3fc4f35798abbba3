package grading

import "slices"

// Grade grades one lot by one standard: exact values, the grade of every
// parameter, the lot's grade and what decides it. It fills in no chances: the
// fields Low, High, Meets, MeetsNext, ByRank, Confidence, Better, Borderline
// and Settle stay zero. The result is the same on every run.
//
// Errors: *RangeError and *WholeError for a reading that cannot be, *LoneError
// for kernels of a pan that nobody counted, *WordError and *NameError for what the standard does not know.
func Grade(s *Standard, r Readings) (Result, error) {
	var res Result
	err := NewEvaluator(s).Grade(&r, &res)
	return res, err
}

// Evaluator grades many lots by one standard. It keeps the limits of each
// class laid out by grade and parameter. It is for one goroutine at a time.
type Evaluator struct {
	standard *Standard
	outcomes []GradeLabel // beyond the ladder, mildest first
	tables   []classTable
}

// classTable is the limits of a class, by grade and then by parameter.
type classTable struct {
	class  string
	bounds [][]Bound
}

// NewEvaluator prepares s.
func NewEvaluator(s *Standard) *Evaluator {
	return &Evaluator{standard: s, outcomes: s.outcomes()}
}

// table finds the limits of a class, laying them out when it first comes.
func (e *Evaluator) table(class string) [][]Bound {
	for i := range e.tables {
		if e.tables[i].class == class {
			return e.tables[i].bounds
		}
	}
	s := e.standard
	n := len(s.Parameters)
	t, flat := make([][]Bound, len(s.Grades)), make([]Bound, n*len(s.Grades))
	for g := range t {
		t[g] = flat[g*n : (g+1)*n]
		for p := range t[g] {
			t[g][p], _ = s.Grades[g].Bound(class, s.Parameters[p].ID)
		}
	}
	e.tables = append(e.tables, classTable{class, t})
	return t
}

// Grade is the function Grade, writing into res and using again the space of
// its slices: what a caller keeps of an earlier result is overwritten.
func (e *Evaluator) Grade(r *Readings, res *Result) error {
	s := e.standard
	*res = Result{
		StandardID: s.ID, Of: len(s.Grades),
		Deciding: res.Deciding[:0], Missing: res.Missing[:0], Gates: res.Gates[:0],
		Remarks: res.Remarks[:0], Parameters: res.Parameters[:0],
	}
	if err := e.check(r); err != nil {
		return err
	}
	class, err := s.ClassOf(r)
	if err != nil {
		return err
	}
	res.Class = class
	if err := e.measureAll(r, res); err != nil {
		return err
	}
	bounds := e.table(class)
	if s.Rule != MatrixOf {
		for i := range res.Parameters {
			e.own(bounds, i, &res.Parameters[i])
		}
	}
	e.ladder(bounds, res)
	ladder := res.Rank
	e.gates(r, res)
	res.Grade = e.label(res.Rank)
	e.findMissing(bounds, res)
	e.findDeciding(bounds, ladder, res)
	res.Complete = len(res.Missing) == 0
	return nil
}

// ladder finds the lot's rank by the limits alone.
func (e *Evaluator) ladder(bounds [][]Bound, res *Result) {
	switch e.standard.Rule {
	case MatrixOf:
		e.matrix(res)
	case LeadParam:
		e.lead(bounds, res)
	default:
		e.worst(bounds, res)
	}
}

func (e *Evaluator) measureAll(r *Readings, res *Result) error {
	res.Parameters = slices.Grow(res.Parameters, len(e.standard.Parameters))
	for i := range e.standard.Parameters {
		out, err := e.standard.measure(&e.standard.Parameters[i], r, res.Parameters)
		if err != nil {
			return err
		}
		res.Parameters = append(res.Parameters, out)
	}
	return e.checkParts(res)
}

// checkParts refuses an "of which" that is more than what it is part of.
func (e *Evaluator) checkParts(res *Result) error {
	for i := range res.Parameters {
		part := &res.Parameters[i]
		of := e.standard.Parameters[i].PartOf
		if of == "" || !part.Measured {
			continue
		}
		whole := res.Parameter(of)
		if whole != nil && whole.Measured && part.Value.CmpRatio(whole.Value) > 0 {
			return &RangeError{
				Parameter: part.ID, Derived: !part.Direct,
				Got: part.Value.Round(decimalPlaces), Max: whole.Value.Round(decimalPlaces), Whole: of,
			}
		}
	}
	return nil
}

package grading

import (
	"errors"
	"fmt"
	"slices"
)

// ErrClass is wrapped by the error for a class that the standard does not
// have, or that it needs and nobody gave.
var ErrClass = errors.New("grading: class")

// ErrParameter is wrapped by the error for a direct value or word of a
// parameter that the standard does not have.
var ErrParameter = errors.New("grading: parameter")

// ErrFlag is wrapped by the error for a flag that neither the dialogue nor the
// standard knows: a misspelt "musty" must not pass for a sound lot.
var ErrFlag = errors.New("grading: flag")

// Grade grades one lot by one standard: exact values, the grade of every
// parameter, the lot's grade and what decides it. It fills in no chances: the
// fields Low, High, Meets, MeetsNext, ByRank, Confidence, Better, Borderline
// and Settle stay zero. The result is the same on every run.
//
// Errors: *RangeError and *WholeError for a reading that cannot be, *WordError,
// and errors wrapping ErrClass, ErrParameter or ErrFlag.
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
	tables   map[string][][]Bound
}

// NewEvaluator prepares s.
func NewEvaluator(s *Standard) *Evaluator {
	return &Evaluator{standard: s, outcomes: s.outcomes()}
}

// outcomes lists what a lot outside the ladder can be called: OutOfGrade, then
// the gates' own words in order.
func (s *Standard) outcomes() []GradeLabel {
	out := []GradeLabel{s.OutOfGrade}
	for _, g := range s.Gates {
		if !g.Remark && s.gradeIndex(g.Outcome) < 0 && !slices.Contains(out, g.Outcome) {
			out = append(out, g.Outcome)
		}
	}
	return out
}

func (s *Standard) gradeIndex(label GradeLabel) int {
	return slices.IndexFunc(s.Grades, func(g GradeRow) bool { return g.Label == label })
}

// Label is the word for a rank: a grade's label, or the outcome beyond the
// ladder. "" for a rank that the standard does not have.
func (s *Standard) Label(rank int) GradeLabel {
	if rank < 1 {
		return ""
	}
	if rank <= len(s.Grades) {
		return s.Grades[rank-1].Label
	}
	if out := s.outcomes(); rank-len(s.Grades) <= len(out) {
		return out[rank-len(s.Grades)-1]
	}
	return ""
}

// Rank is the inverse of Label; 0 for a word that the standard does not have.
func (s *Standard) Rank(label GradeLabel) int {
	if i := s.gradeIndex(label); i >= 0 {
		return i + 1
	}
	if i := slices.Index(s.outcomes(), label); i >= 0 {
		return len(s.Grades) + 1 + i
	}
	return 0
}

// rank and label are Rank and Label without building the outcomes again.
func (e *Evaluator) rank(label GradeLabel) int {
	if i := e.standard.gradeIndex(label); i >= 0 {
		return i + 1
	}
	return len(e.standard.Grades) + 1 + slices.Index(e.outcomes, label)
}

func (e *Evaluator) label(rank int) GradeLabel {
	if n := len(e.standard.Grades); rank > n {
		return e.outcomes[rank-n-1]
	}
	return e.standard.Grades[rank-1].Label
}

// ClassOf is the class that the readings are graded in: their own or the
// standard's default; "" when the standard has none. Errors wrap ErrClass.
func (s *Standard) ClassOf(r *Readings) (string, error) {
	if len(s.Classes) == 0 {
		return "", nil
	}
	class := r.Class
	if class == "" {
		class = s.DefaultClass
	}
	if class == "" || !slices.Contains(s.Classes, class) {
		return "", fmt.Errorf("%w: %q is not one of %q of %s", ErrClass, class, s.Classes, s.ID)
	}
	return class, nil
}

// table is the limits of a class, by grade and then by parameter.
func (e *Evaluator) table(class string) [][]Bound {
	if t, ok := e.tables[class]; ok {
		return t
	}
	s := e.standard
	t := make([][]Bound, len(s.Grades))
	for g := range t {
		t[g] = make([]Bound, len(s.Parameters))
		for p := range t[g] {
			t[g][p], _ = s.Grades[g].Bound(class, s.Parameters[p].ID)
		}
	}
	if e.tables == nil {
		e.tables = make(map[string][][]Bound, 1)
	}
	e.tables[class] = t
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
	switch s.Rule {
	case MatrixOf:
		e.matrix(res)
	case LeadParam:
		e.lead(bounds, res)
	default:
		e.worst(bounds, res)
	}
	ladder := res.Rank
	e.gates(r, res)
	res.Grade = e.label(res.Rank)
	e.findMissing(bounds, res)
	e.findDeciding(bounds, ladder, res)
	res.Complete = len(res.Missing) == 0
	return nil
}

// check refuses readings that cannot be and names that the standard lacks.
func (e *Evaluator) check(r *Readings) error {
	if err := r.Check(); err != nil {
		return err
	}
	for _, id := range sortedIDs(r.Values) {
		if p := e.standard.Parameter(id); p == nil || p.Unit == Word {
			return fmt.Errorf("%w: values: %s has no number %q", ErrParameter, e.standard.ID, id)
		}
	}
	for _, id := range sortedIDs(r.Words) {
		if p := e.standard.Parameter(id); p == nil || p.Unit != Word {
			return fmt.Errorf("%w: words: %s has no word %q", ErrParameter, e.standard.ID, id)
		}
	}
	for _, f := range r.Flags {
		if !e.standard.knows(f) {
			return fmt.Errorf("%w: %q is not one of %q", ErrFlag, f, e.standard.Flags())
		}
	}
	return nil
}

// asked are the flags that the dialogue asks for, whatever the standard.
var asked = [...]Flag{Musty, Mouldy, Heating, TreatedSeed, OffOdour}

func (s *Standard) knows(f Flag) bool {
	return slices.Contains(asked[:], f) ||
		slices.ContainsFunc(s.Gates, func(g Gate) bool { return slices.Contains(g.Flags, f) })
}

// Flags lists the flags that readings may carry: those of the dialogue, then
// the standard's own.
func (s *Standard) Flags() []Flag {
	out := slices.Clone(asked[:])
	for _, g := range s.Gates {
		for _, f := range g.Flags {
			if !slices.Contains(out, f) {
				out = append(out, f)
			}
		}
	}
	return out
}

func sortedIDs[V any](m map[ParameterID]V) []ParameterID {
	if len(m) == 0 {
		return nil
	}
	ids := make([]ParameterID, 0, len(m))
	for id := range m {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	return ids
}

func (e *Evaluator) measureAll(r *Readings, res *Result) error {
	for i := range e.standard.Parameters {
		p := &e.standard.Parameters[i]
		out := ParameterResult{ID: p.ID, Unit: p.Unit, Basis: p.Basis, Decimals: p.Decimals}
		if err := measure(p, r, res.Parameters, &out); err != nil {
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
			return &RangeError{Parameter: part.ID, Got: part.Shown, Max: whole.Shown}
		}
	}
	return nil
}

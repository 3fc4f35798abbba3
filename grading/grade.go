package grading

import "slices"

// Grade grades one lot by one standard: exact values, the grade of every
// parameter, the lot's grade and what decides it. It fills in no chances: the
// fields Low, High, Meets, MeetsNext, ByRank, Confidence, Better, Borderline
// and Settle stay zero. The result is the same on every run.
//
// Errors: *RangeError and *WholeError for a reading that cannot be, *LoneError
// for grains of a pan that nobody counted, *WordError and *NameError for what the standard does not know.
func Grade(s *Standard, r Readings) (Result, error) {
	var res Result
	err := NewEvaluator(s).Grade(&r, &res)
	return res, err
}

// Evaluator grades many lots by one standard. It keeps the limits of each
// class laid out by grade and parameter. It is for one goroutine at a time.
type Evaluator struct {
	Ladder
	tables []classTable
	known  []known     // by parameter
	gate   []knownGate // by gate
	// lot is the lot that is graded; was and again are the lots of Rank and of
	// RankAgain, last the one of them that came last.
	lot, was, again, last []Found
}

// Ladder is a standard's grades from the best to the outcomes beyond them, and how
// values stand among them.
type Ladder struct {
	standard *Standard
	outcomes []GradeLabel // beyond the ladder, mildest first
	noGrade  int          // the rank of NoGrade; that of WetLot comes next
}

// known is what is known of a parameter before any lot is.
type known struct {
	made   FieldSet // the fields that it is made of, by way of others too
	most   Decimal  // the greatest value that can be
	step   Decimal  // see Standard.ComparedAt
	partOf int      // what it is an "of which" of; -1 nothing
}

// knownGate is a gate's parameter, -1 none, and the rank of its outcome.
type knownGate struct{ parameter, rank int }

// classTable is the limits of a class, by grade and then by parameter.
type classTable struct {
	class  string
	bounds [][]Bound
}

// NewEvaluator prepares s.
func NewEvaluator(s *Standard) *Evaluator {
	n := len(s.Parameters)
	e := &Evaluator{
		Ladder: Ladder{standard: s, outcomes: s.outcomes()}, known: make([]known, n), gate: make([]knownGate, len(s.Gates)),
		lot: make([]Found, n),
	}
	e.noGrade = e.RankOf(NoGrade)
	for i := range s.Parameters {
		p, k := &s.Parameters[i], &e.known[i]
		if k.partOf, k.most, k.step = e.index(p.PartOf), MaxValue, s.ComparedAt(p); p.Unit.Percentage() {
			k.most = 100 * One
		}
		for _, t := range p.Terms {
			k.made |= SetOf(t.Fields...).With(t.Over).With(t.Of)
			if j := e.index(t.Parameter); j >= 0 && j < i {
				k.made |= e.known[j].made
			}
		}
	}
	for i, g := range s.Gates {
		e.gate[i] = knownGate{e.index(g.Parameter), e.RankOf(g.Outcome)}
	}
	return e
}

// index is a parameter's place in the standard; -1 when it does not have it.
func (e *Ladder) index(id ParameterID) int {
	return slices.IndexFunc(e.standard.Parameters, func(p Parameter) bool { return id != "" && p.ID == id })
}

// Limits are the limits of a class, by grade and then by parameter.
func (e *Evaluator) Limits(class string) [][]Bound {
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
// its slices: an earlier result that a caller still holds is overwritten.
func (e *Evaluator) Grade(r *Readings, res *Result) error {
	s := e.standard
	*res = Result{
		StandardID: s.ID, Of: len(s.Grades),
		Deciding: res.Deciding[:0], Missing: res.Missing[:0], Gates: res.Gates[:0],
		Remarks: res.Remarks[:0], Parameters: res.Parameters[:0],
	}
	class, err := e.Class(r)
	if err != nil {
		return err
	}
	res.Class = class
	if err := e.findAll(r, e.lot, allFields); err != nil {
		return err
	}
	bounds, best := e.Limits(class), 1 // the lot is never better than one of its own grades
	res.Parameters = slices.Grow(res.Parameters, len(e.lot))
	for i := range e.lot {
		res.Parameters = append(res.Parameters, e.result(i, e.lot[i]))
		e.sharpen(bounds, i, &res.Parameters[i])
		if s.Rule != MatrixOf {
			e.own(bounds, i, &res.Parameters[i])
			best = max(best, res.Parameters[i].Rank)
		}
	}
	res.Rank = e.ladder(bounds, e.lot, best)
	ladder := res.Rank
	switch s.Rule {
	case MatrixOf:
		e.axes(res)
	case LeadParam:
		e.remarkOnOthers(bounds, res)
	}
	res.Rank = e.gates(r, e.lot, res.Rank, res)
	res.Grade = e.Label(res.Rank)
	e.findMissing(bounds, res)
	e.findDeciding(bounds, ladder, res)
	res.Complete = len(res.Missing) == 0
	return nil
}

// Rank returns only the rank that Grade would return, in a fraction of the
// time. Errors are those of Grade.
func (e *Evaluator) Rank(r *Readings) (int, error) {
	if err := e.check(r); err != nil {
		return 0, err
	}
	if e.was == nil {
		e.was, e.again = make([]Found, len(e.lot)), make([]Found, len(e.lot))
	}
	return e.rankIn(r, e.was, allFields)
}

// RankAgain is Rank for the lot of the last call of Rank, when only the fields
// in changed, or values given directly, are different. lessened says that none
// of these is a whole and that they only became less, so that readings that
// were possible are still possible.
func (e *Evaluator) RankAgain(r *Readings, changed FieldSet, lessened bool) (int, error) {
	if !lessened {
		if err := r.Check(); err != nil {
			return 0, err
		}
	}
	if len(r.Values) > 0 {
		changed = allFields
	}
	copy(e.again, e.was)
	return e.rankIn(r, e.again, changed)
}

// Ranked is what Rank, or RankAgain where that came after, found of the i-th
// parameter of the standard.
func (e *Evaluator) Ranked(i int) *Found { return &e.last[i] }

func (e *Evaluator) rankIn(r *Readings, lot []Found, changed FieldSet) (int, error) {
	e.last = lot
	class, err := e.standard.ClassOf(r)
	if err != nil {
		return 0, err
	}
	if err := e.findAll(r, lot, changed); err != nil {
		return 0, err
	}
	return e.gates(r, lot, e.ladder(e.Limits(class), lot, 1), nil), nil
}

// RankFound is the rank of a lot of which Parameter has found everything, which is
// in res; the gates that hold are written there. It refuses a part that is more
// than its whole.
func (e *Evaluator) RankFound(r *Readings, class string, lot []Found, res *Result) (int, error) {
	if err := e.checkParts(lot); err != nil {
		return 0, err
	}
	from := 1 // in a better grade than its own a parameter misses the limit
	for i := range res.Parameters {
		from = max(from, res.Parameters[i].Rank)
	}
	return e.gates(r, lot, e.ladder(e.Limits(class), lot, from), res), nil
}

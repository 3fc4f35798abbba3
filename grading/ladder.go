package grading

import (
	"cmp"
	"slices"
)

// meets reports whether a measured parameter keeps a limit: exactly, or rounded
// as the standard rounds it, or else a meter's mean at the meter's step.
func (e *Ladder) meets(i int, b *Bound, v *Found) bool {
	if b.WorstWord != "" {
		words := e.standard.Parameters[i].Words
		return slices.Index(words, v.Word) <= slices.Index(words, b.WorstWord)
	}
	return e.meetsMax(b, v) && e.meetsMin(b, v)
}

func (e *Ladder) meetsMax(b *Bound, v *Found) bool {
	if b.Max == nil {
		return true
	}
	c := e.compare(v, *b.Max)
	return c < 0 || c == 0 && !b.MaxExclusive
}

func (e *Ladder) meetsMin(b *Bound, v *Found) bool {
	if b.Min == nil {
		return true
	}
	c := e.compare(v, *b.Min)
	return c > 0 || c == 0 && !b.MinExclusive
}

func (e *Ladder) compare(v *Found, limit Decimal) int {
	if v.step != 0 {
		return cmp.Compare(v.compared, limit)
	}
	return v.Value.Cmp(limit)
}

// Meets reports whether a value, without rounding, is within the limits. A
// bound on words counts as met.
func (b *Bound) Meets(v Decimal) bool {
	if b.Min != nil && (v < *b.Min || b.MinExclusive && v == *b.Min) {
		return false
	}
	return b.Max == nil || v < *b.Max || !b.MaxExclusive && v == *b.Max
}

// own finds a measured parameter's own grade: the best whose limit it meets.
func (e *Ladder) own(bounds [][]Bound, i int, pr *ParameterResult) {
	if !pr.Measured {
		return
	}
	rank := e.ownRank(bounds, i, &pr.Found)
	pr.Rank, pr.Grade = rank, e.Label(rank)
	if pr.Unit == Word || len(bounds) == 0 {
		return
	}
	at := &bounds[min(rank, len(bounds))-1][i]
	if rank == 1 {
		pr.LimitIsMin = e.nearerMin(at, pr)
		pr.Limit = side(at, pr.LimitIsMin)
		pr.LimitOpen = open(at, pr.LimitIsMin)
		return
	}
	better := &bounds[rank-2][i]
	pr.LimitIsMin = !e.meetsMin(better, &pr.Found)
	pr.Limit = side(at, pr.LimitIsMin)
	pr.Next = side(better, pr.LimitIsMin)
	pr.LimitOpen = open(better, pr.LimitIsMin)
}

// ownRank is the rank of the best grade whose limit a measured parameter meets.
func (e *Ladder) ownRank(bounds [][]Bound, i int, v *Found) int {
	rank := 1
	for rank <= len(bounds) && !e.meets(i, &bounds[rank-1][i], v) {
		rank++
	}
	return rank
}

func open(b *Bound, isMin bool) bool { return isMin && b.MinExclusive || !isMin && b.MaxExclusive }

func side(b *Bound, isMin bool) *Decimal {
	if isMin {
		return b.Min
	}
	return b.Max
}

// nearerMin picks the side of a band to report for a value inside it: the only
// one there is, else the nearer.
func (e *Ladder) nearerMin(b *Bound, pr *ParameterResult) bool {
	if b.Min == nil || b.Max == nil {
		return b.Max == nil && b.Min != nil
	}
	return pr.Shown-*b.Min < *b.Max-pr.Shown
}

// ladder returns the lot's rank by the limits alone; the lot is known to be no
// better than from.
func (e *Ladder) ladder(bounds [][]Bound, lot []Found, from int) int {
	switch e.standard.Rule {
	case MatrixOf:
		return e.matrix(lot)
	case LeadParam:
		return e.lead(bounds, lot)
	}
	return e.worst(bounds, lot, from)
}

// worst is the rule that the lot has the best grade all of whose limits are
// met by everything that was measured. A parameter that a grade does not limit
// cannot fail it, so that a limit may change its unit from grade to grade.
func (e *Ladder) worst(bounds [][]Bound, lot []Found, from int) int {
	rank := from
	for rank <= len(bounds) && !e.meetsAll(bounds[rank-1], lot) {
		rank++
	}
	return rank
}

func (e *Ladder) meetsAll(row []Bound, lot []Found) bool {
	for i := range lot {
		if lot[i].Measured && !e.meets(i, &row[i], &lot[i]) {
			return false
		}
	}
	return true
}

// lead is the rule that one parameter gives the grade.
func (e *Ladder) lead(bounds [][]Bound, lot []Found) int {
	rank := 1
	for i := range lot {
		if !lot[i].Measured || e.standard.Parameters[i].ID != e.standard.Lead {
			continue
		}
		for rank <= len(bounds) && !e.meets(i, &bounds[rank-1][i], &lot[i]) {
			rank++
		}
	}
	return rank
}

// remarkOnOthers, for a grade that one parameter gives, remarks on the other
// parameters that miss their limit in that grade.
func (e *Ladder) remarkOnOthers(bounds [][]Bound, res *Result) {
	row := bounds[min(res.Rank, len(bounds))-1]
	for i := range res.Parameters {
		pr := &res.Parameters[i]
		if pr.Measured && pr.ID != e.standard.Lead && !e.meets(i, &row[i], &pr.Found) {
			res.Remarks = append(res.Remarks, string(pr.ID))
		}
	}
}

// findMissing lists the required parameters that were not measured and whose
// worst value would make the grade worse than it is.
func (e *Ladder) findMissing(bounds [][]Bound, res *Result) {
	stands := res.Rank
	if stands >= e.noGrade { // which a reading lifts
		stands = 0
	}
	for i := range res.Parameters {
		pr := &res.Parameters[i]
		if pr.Measured || !e.standard.Parameters[i].Required {
			continue
		}
		if e.worstCase(bounds, i, res) > stands {
			res.Missing = append(res.Missing, pr.ID)
		}
	}
}

// worstCase is the rank that the worst value of a parameter could bring.
func (e *Ladder) worstCase(bounds [][]Bound, i int, res *Result) int {
	s, id := e.standard, e.standard.Parameters[i].ID
	rank := 1
	switch {
	case s.Rule == MatrixOf:
		if id == s.Matrix.Row || id == s.Matrix.Column {
			rank = len(s.Grades) + 1
		}
	case s.Rule != LeadParam || s.Lead == id:
		for g := range bounds {
			if !bounds[g][i].None() {
				rank = g + 2
			}
		}
	}
	for j := i + 1; j < len(s.Parameters); j++ { // what counts it once it is known
		for _, t := range s.Parameters[j].Terms {
			if t.IfKnown && t.Parameter == id && !res.Parameters[j].Direct {
				rank = max(rank, e.worstCase(bounds, j, res))
			}
		}
	}
	for g := range s.Gates {
		if gate := &s.Gates[g]; !gate.Remark && gate.Parameter == id {
			rank = max(rank, e.RankOf(gate.Outcome))
		}
	}
	return rank
}

// findDeciding lists what holds the lot down: the parameters of its own rank,
// or, where a unit changes between grades and none has it, those that fail the
// grade above; a gate's parameter when a gate is worse than the ladder.
func (e *Ladder) findDeciding(bounds [][]Bound, ladder int, res *Result) {
	if res.Rank == 1 {
		return
	}
	for g := range e.standard.Gates {
		gate := &e.standard.Gates[g]
		if gate.Parameter != "" && !gate.Remark && e.RankOf(gate.Outcome) == res.Rank && slices.Contains(res.Gates, gate.ID) {
			res.decide(gate.Parameter)
		}
	}
	if res.Rank > ladder {
		return
	}
	for i := range res.Parameters {
		pr := &res.Parameters[i]
		if pr.Measured && pr.Rank == res.Rank && (e.standard.Rule != LeadParam || pr.ID == e.standard.Lead) {
			res.decide(pr.ID)
		}
	}
	if len(res.Deciding) > 0 {
		return
	}
	for i := range res.Parameters {
		if pr := &res.Parameters[i]; pr.Measured && e.holdsDown(bounds, i, pr, res.Rank) {
			res.decide(pr.ID)
		}
	}
}

func (e *Ladder) holdsDown(bounds [][]Bound, i int, pr *ParameterResult, rank int) bool {
	if m := e.standard.Matrix; m != nil {
		return pr.ID == m.Row || pr.ID == m.Column
	}
	return !e.meets(i, &bounds[rank-2][i], &pr.Found)
}

func (r *Result) decide(id ParameterID) {
	if !slices.Contains(r.Deciding, id) {
		r.Deciding = append(r.Deciding, id)
	}
}

package ledger

import (
	"cmp"
	"math/bits"
	"slices"

	"threshline/grading"
)

// quick gives a lot's rank by a standard, and nothing else, in a twentieth of
// the time that grading takes: a what-if asks for it twenty times for every lot
// there is. It knows the plain kinds of table only, and says so of all others;
// where it answers, it answers as grading.Evaluator does. It is for one goroutine.
type quick struct {
	s          *grading.Standard
	parameters []quickParameter
	flags      []grading.Flag
	gates      []quickGate
	classes    []quickClass
	lot, again quickLot // space: the lot as it is, and as it would be
}

type quickParameter struct {
	p *grading.Parameter
	// parts are the terms by what they are a share of.
	parts  []quickPart
	fields grading.FieldSet // bits of all that it is made of
	step   grading.Decimal  // that it is rounded to before it is compared; 0 not
}

// quickPart is terms of one whole, added up.
type quickPart struct {
	kind  grading.TermKind
	terms []*grading.Term
	over  grading.Field
}

type quickGate struct {
	*grading.Gate
	rank, parameter int // -1 none
}

type quickClass struct {
	name   string
	bounds [][]grading.Bound // by grade, then parameter
}

// mostQuick is the most parameters that a plain table has.
const mostQuick = 32

// newQuick prepares a standard; nil when it is not of the plain kinds.
func newQuick(s *grading.Standard) *quick {
	if s.Rule == grading.MatrixOf || s.Rule == grading.LeadParam || len(s.Parameters) > mostQuick {
		return nil
	}
	q := &quick{s: s, flags: s.Flags()}
	for i := range s.Parameters {
		p := &s.Parameters[i]
		part, ok := quickOf(s, p)
		if !ok {
			return nil
		}
		q.parameters = append(q.parameters, part)
	}
	for i := range s.Gates {
		g := &s.Gates[i]
		if g.Remark {
			continue
		}
		at := slices.IndexFunc(s.Parameters, func(p grading.Parameter) bool { return p.ID == g.Parameter })
		q.gates = append(q.gates, quickGate{g, s.Rank(g.Outcome), at})
	}
	return q
}

// quickOf gathers a parameter's terms. Parameters without terms are given
// directly, and lots with such values are left to the evaluator.
func quickOf(s *grading.Standard, p *grading.Parameter) (quickParameter, bool) {
	q := quickParameter{p: p, step: s.ComparedAt(p)}
	if p.Unit == grading.Word || len(p.Terms) == 0 {
		return q, true
	}
	for i := range p.Terms {
		t := &p.Terms[i]
		q.fields |= grading.SetOf(t.Fields...).With(t.Over)
		at := slices.IndexFunc(q.parts, func(part quickPart) bool { return part.kind == t.Kind && part.over == t.Over })
		switch {
		case t.Kind == grading.ValueOf || t.Kind == grading.CountPer:
			return q, false
		case at >= 0 && t.Kind != grading.MeanOf:
			q.parts[at].terms = append(q.parts[at].terms, t)
		default:
			q.parts = append(q.parts, quickPart{t.Kind, []*grading.Term{t}, t.Over})
		}
	}
	shares := !slices.ContainsFunc(q.parts, func(part quickPart) bool { return part.kind != grading.MassShare && part.kind != grading.CountShare })
	simple := len(q.parts) == 1 || len(q.parts) == 2 && shares && p.Constant == 0 && !s.RoundFirst
	return q, simple && p.PartOf == ""
}

// knows tells whether a lot is plain enough.
func (q *quick) knows(r *grading.Readings) bool {
	if len(r.Values) > 0 || len(r.Words) > 0 {
		return false
	}
	for _, f := range r.Flags {
		if !slices.Contains(q.flags, f) {
			return false
		}
	}
	return true
}

// fraction is times*num/den, exactly; den over 0.
type fraction struct{ times, num, den int64 }

// cmp compares with a limit of ten-thousandths; num is not negative.
func (v fraction) cmp(limit grading.Decimal) int {
	if limit < 0 {
		return 1
	}
	h1, l1 := bits.Mul64(uint64(v.num), uint64(v.times*int64(grading.One)))
	h2, l2 := bits.Mul64(uint64(limit), uint64(v.den))
	return cmp.Or(cmp.Compare(h1, h2), cmp.Compare(l1, l2))
}

// rounded rounds half up to a step.
func (v fraction) rounded(step grading.Decimal) grading.Decimal {
	h, l := bits.Mul64(uint64(v.num), uint64(2*v.times*int64(grading.One)))
	den := uint64(v.den) * uint64(step)
	l, carry := bits.Add64(l, den, 0)
	n, _ := bits.Div64(h+carry, l, 2*den)
	return grading.Decimal(n) * step
}

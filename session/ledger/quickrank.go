package ledger

import "threshline/grading"

// quickLot is one lot's values by a plain table.
type quickLot struct {
	values   [mostQuick]fraction
	shown    [mostQuick]grading.Decimal // where a rounded value is compared
	measured [mostQuick]bool
}

// rank is the lot's rank; 0 when grading would refuse the readings.
func (q *quick) rank(r *grading.Readings) uint8 {
	class, err := q.s.ClassOf(r)
	if err != nil || r.Check() != nil || r.CheckPan() != nil {
		return 0
	}
	return q.combine(r, class, &q.lot, ^grading.FieldSet(0))
}

// rankAgain is rank for the lot that rank was last asked about, of which only
// the given fields have changed. Lessened says that these are no wholes and
// only became less: what could be before can be now.
func (q *quick) rankAgain(r *grading.Readings, changed grading.FieldSet, lessened bool) uint8 {
	class, err := q.s.ClassOf(r)
	if err != nil || !lessened && r.Check() != nil {
		return 0
	}
	for i := range q.parameters {
		q.again.values[i], q.again.measured[i], q.again.shown[i] = q.lot.values[i], q.lot.measured[i], q.lot.shown[i]
	}
	return q.combine(r, class, &q.again, changed)
}

// combine works out the values that have changed, and the rank.
func (q *quick) combine(r *grading.Readings, class string, lot *quickLot, changed grading.FieldSet) uint8 {
	for i := range q.parameters {
		if q.parameters[i].fields&changed == 0 {
			continue
		}
		ok := false
		if lot.values[i], lot.measured[i], ok = q.parameters[i].value(r); !ok {
			return 0
		}
		if step := q.parameters[i].step; step != 0 && lot.measured[i] {
			lot.shown[i] = lot.values[i].rounded(step)
		}
	}
	bounds := q.class(class)
	rank := 1
	for rank <= len(bounds) && !q.meetsAll(lot, bounds[rank-1]) {
		rank++
	}
	for i := range q.gates {
		if g := &q.gates[i]; g.rank > rank && q.holds(g, r, lot) {
			rank = g.rank
		}
	}
	return uint8(min(rank, 255))
}

func (q *quick) meetsAll(lot *quickLot, row []grading.Bound) bool {
	for i := range q.parameters {
		if lot.measured[i] && !q.meets(lot, i, &row[i]) {
			return false
		}
	}
	return true
}

func (q *quick) meets(lot *quickLot, i int, b *grading.Bound) bool {
	if b.Max != nil {
		if c := q.compare(lot, i, *b.Max); c > 0 || c == 0 && b.MaxExclusive {
			return false
		}
	}
	if b.Min != nil {
		if c := q.compare(lot, i, *b.Min); c < 0 || c == 0 && b.MinExclusive {
			return false
		}
	}
	return true
}

func (q *quick) compare(lot *quickLot, i int, limit grading.Decimal) int {
	if q.parameters[i].step != 0 {
		return int(min(max(lot.shown[i]-limit, -1), 1))
	}
	return lot.values[i].cmp(limit)
}

func (q *quick) holds(g *quickGate, r *grading.Readings, lot *quickLot) bool {
	for _, f := range g.Flags {
		for _, have := range r.Flags {
			if f == have {
				return true
			}
		}
	}
	if g.Insects != nil {
		weevils, _ := r.Get(grading.LiveWeevils)
		others, _ := r.Get(grading.LiveOthers)
		if g.Insects.Holds(int(weevils/grading.One), int(others/grading.One)) {
			return true
		}
	}
	return g.parameter >= 0 && lot.measured[g.parameter] && !q.meets(lot, g.parameter, &g.Bound)
}

// class finds the limits of a class, laying them out when it first comes.
func (q *quick) class(name string) [][]grading.Bound {
	for i := range q.classes {
		if q.classes[i].name == name {
			return q.classes[i].bounds
		}
	}
	bounds := make([][]grading.Bound, len(q.s.Grades))
	for g := range bounds {
		bounds[g] = make([]grading.Bound, len(q.s.Parameters))
		for i := range bounds[g] {
			bounds[g][i], _ = q.s.Grades[g].Bound(name, q.s.Parameters[i].ID)
		}
	}
	q.classes = append(q.classes, quickClass{name, bounds})
	return bounds
}

// value is a parameter's exact value; measured is false when anything that it
// is made of is missing, ok when it cannot be.
func (p *quickParameter) value(r *grading.Readings) (v fraction, measured, ok bool) {
	if len(p.parts) == 0 {
		return v, false, true
	}
	v, measured, ok = p.parts[0].value(r)
	if !measured || !ok {
		return v, false, ok
	}
	if len(p.parts) == 2 {
		w, also, fine := p.parts[1].value(r)
		if !also || !fine {
			return v, false, fine
		}
		v.num, v.den = v.num*w.den+w.num*v.den, v.den*w.den
	}
	if c := int64(p.p.Constant); c != 0 {
		// times*num/den + c/One, over den*One
		v = fraction{1, v.times*v.num*int64(grading.One) + c*v.den, v.den * int64(grading.One)}
	}
	if v.num < 0 {
		return v, false, false
	}
	high := grading.MaxValue
	if p.p.Unit.Percentage() {
		high = 100 * grading.One
	}
	if v.cmp(high) > 0 {
		if !p.p.Estimate || high != 100*grading.One {
			return v, false, false
		}
		v = fraction{100, 1, 1}
	}
	return v, true, true
}

// value is a part's sum over its whole.
func (p *quickPart) value(r *grading.Readings) (v fraction, measured, ok bool) {
	if p.kind == grading.MeanOf {
		sum := grading.Decimal(0)
		for _, d := range r.Repeats {
			sum += d
		}
		return fraction{1, p.sign(0, sum), int64(grading.One) * int64(max(len(r.Repeats), 1))}, len(r.Repeats) > 0, true
	}
	v.times, v.den = 1, int64(grading.One)
	if p.kind != grading.CountOf {
		whole, has := r.Get(p.over)
		if !has {
			return v, false, true
		}
		v.times, v.den = 100, int64(whole)
	}
	for i := range p.terms {
		sum := grading.Decimal(0)
		for _, f := range p.terms[i].Fields {
			d, has := r.Get(f)
			if !has {
				return v, false, true
			}
			sum += d
		}
		if p.kind != grading.CountOf && int64(sum) > v.den {
			return v, false, false
		}
		v.num += p.sign(i, sum)
	}
	return v, true, true
}

func (p *quickPart) sign(i int, sum grading.Decimal) int64 {
	if p.terms[i].Negative {
		return -int64(sum)
	}
	return int64(sum)
}

package grading

import "slices"

// gates applies the conditions outside the ladder: the lot gets the worst of its
// rank and the outcomes of the gates that hold. Where res is there, they are
// written into it.
func (e *Evaluator) gates(r *Readings, lot []Found, rank int, res *Result) int {
	for g := range e.standard.Gates {
		gate := &e.standard.Gates[g]
		if res == nil && (gate.Remark || e.gate[g].rank <= rank) || !e.holds(g, r, lot) {
			continue
		}
		if !gate.Remark {
			rank = max(rank, e.gate[g].rank)
		}
		switch {
		case res == nil:
		case gate.Remark:
			res.Remarks = append(res.Remarks, gate.ID)
		default:
			res.Gates = append(res.Gates, gate.ID)
		}
	}
	return e.ungraded(r, lot, rank, res)
}

// holds reports whether a gate's condition is met: any of its flags was
// reported, its insect rule is met, or its parameter is outside its bound.
// Something that was not measured never meets a condition.
func (e *Evaluator) holds(g int, r *Readings, lot []Found) bool {
	gate := &e.standard.Gates[g]
	if gate.Seen(r) {
		return true
	}
	i := e.gate[g].parameter
	return i >= 0 && lot[i].Measured && !e.meets(i, &gate.Bound, &lot[i])
}

// Seen reports whether a gate holds by what was seen, whatever its limit.
func (g *Gate) Seen(r *Readings) bool {
	for _, f := range g.Flags {
		if slices.Contains(r.Flags, f) {
			return true
		}
	}
	return g.Insects != nil && g.Insects.Holds(r.count(LiveWeevils), r.count(LiveOthers))
}

// Holds is the OR-rule of live insects: enough weevils, or a weevil with
// enough others, or enough others. A zero in the rule switches that part off.
// Source: [CFR-868 §868.212].
func (i *InsectRule) Holds(weevils, others int) bool {
	return i.Weevils > 0 && weevils >= i.Weevils ||
		i.WithWeevil > 0 && weevils >= 1 && others >= i.WithWeevil ||
		i.Others > 0 && others >= i.Others
}

// count is a counted field as a number; 0 when it was not counted.
func (r *Readings) count(f Field) int { return int(r.one[f] / One) }

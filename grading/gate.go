package grading

import "slices"

// gates applies the conditions outside the ladder: the lot gets the worst of
// its own grade and the outcomes of the gates that hold.
func (e *Evaluator) gates(r *Readings, res *Result) {
	for g := range e.standard.Gates {
		gate := &e.standard.Gates[g]
		if !e.holds(gate, r, res) {
			continue
		}
		if gate.Remark {
			res.Remarks = append(res.Remarks, gate.ID)
			continue
		}
		res.Gates = append(res.Gates, gate.ID)
		res.Rank = max(res.Rank, e.rank(gate.Outcome))
	}
}

// holds tells whether a gate's condition is met: any of its flags was
// reported, its insect rule holds, or its parameter breaks its bound. What was
// not measured holds nothing.
func (e *Evaluator) holds(g *Gate, r *Readings, res *Result) bool {
	for _, f := range g.Flags {
		if slices.Contains(r.Flags, f) {
			return true
		}
	}
	if g.Insects != nil && g.Insects.Holds(r.count(LiveWeevils), r.count(LiveOthers)) {
		return true
	}
	if g.Parameter == "" {
		return false
	}
	i := slices.IndexFunc(res.Parameters, func(p ParameterResult) bool { return p.ID == g.Parameter })
	return i >= 0 && res.Parameters[i].Measured && !e.meets(i, &g.Bound, &res.Parameters[i])
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

package grading

import (
	"fmt"
	"slices"
)

// Found is a parameter's value in one lot.
type Found struct {
	Measured bool
	// Direct says that the value was given, not made from readings.
	Direct bool
	Value  Ratio // exact
	// Shown is Value rounded half up to the result's Decimals: the parameter's, or
	// more where these would show it on the wrong side of a limit.
	Shown Decimal
	Word  string // for Word parameters
	// step is what Value is rounded to before it is compared, to compared; 0 not
	// at all.
	step, compared Decimal
}

// WordError is a word that the parameter does not know.
type WordError struct {
	Parameter ParameterID
	Got       string
	Want      []string
}

func (e *WordError) Error() string {
	return fmt.Sprintf("grading: words.%s is %q, not one of %q", e.Parameter, e.Got, e.Want)
}

// find puts parameter i into the lot, from the readings and the parameters before it. It
// leaves Measured false when anything that the value is made of was not
// measured: missing is not zero. The value is not yet in lowest terms, nor
// rounded to be shown.
func (e *Evaluator) find(i int, r *Readings, lot []Found) error {
	p, out, before := &e.standard.Parameters[i], &lot[i], lot[:i]
	*out = Found{}
	if p.Unit == Word {
		w, ok := r.Words[p.ID]
		if ok && !slices.Contains(p.Words, w) {
			return &WordError{Parameter: p.ID, Got: w, Want: p.Words}
		}
		out.Measured, out.Direct, out.Word = ok, ok, w
		return nil
	}
	if len(r.Values) > 0 {
		if d, ok := r.Values[p.ID]; ok {
			out.Direct = true
			return e.record(i, Ratio{int64(d), int64(One)}, out)
		}
	}
	if len(p.Terms) == 0 {
		return nil
	}
	sum := Ratio{int64(p.Constant), int64(One)}
	for k := range p.Terms {
		t := &p.Terms[k]
		v, ok, err := e.term(t, p.Unit, r, before)
		if err == nil && !ok && t.IfKnown {
			continue
		}
		if err != nil || !ok {
			return err
		}
		if t.Negative {
			v.num = -v.num
		}
		sum = sum.plus(v)
	}
	if top := 100 * One; p.Estimate && e.known[i].most == top && sum.Cmp(top) > 0 {
		// Shares of different wholes may count one grain twice.
		sum = Ratio{int64(top), int64(One)}
	}
	return e.record(i, sum, out)
}

// record puts down the value v after checking that a value of the unit can be v.
func (e *Evaluator) record(i int, v Ratio, out *Found) error {
	p := &e.standard.Parameters[i]
	if v.num < 0 || v.Cmp(e.known[i].most) > 0 {
		return &RangeError{Parameter: p.ID, Derived: !out.Direct, Got: v.Round(decimalPlaces), Max: e.known[i].most}
	}
	out.Measured, out.Value = true, v
	if out.step = e.known[i].step; out.Direct && !e.standard.RoundFirst {
		out.step = 0 // not the meter's
	}
	if out.step != 0 {
		out.compared = v.RoundTo(out.step)
	}
	return nil
}

// term is the term's share of its parameter, and whether it was measured.
func (e *Evaluator) term(t *Term, unit Unit, r *Readings, before []Found) (Ratio, bool, error) {
	switch t.Kind {
	case MeanOf:
		v, n := r.meanMoisture()
		return v, n > 0, nil
	case ValueOf:
		for i := range before {
			if e.standard.Parameters[i].ID == t.Parameter && before[i].Measured {
				factor, ok := t.Factor(r)
				return before[i].Value.Mul(factor), ok, nil
			}
		}
		return Ratio{}, false, nil
	}
	sum := Decimal(0)
	for _, f := range t.Fields {
		d, ok := r.Get(f)
		if !ok {
			return Ratio{}, false, nil
		}
		sum += d
	}
	if t.Kind == CountOf {
		return Ratio{int64(sum), int64(One)}, true, nil
	}
	whole, ok := r.Get(t.Over)
	switch {
	case !ok:
		return Ratio{}, false, nil
	case t.Kind == CountPer:
		return NewRatio(int64(sum), int64(whole)).Mul(NewRatio(int64(unit.Weight()), int64(One))), true, nil
	case sum > whole:
		return Ratio{}, false, &RangeError{Field: t.largest(r), Got: sum, Max: whole, Over: t.Over}
	}
	return Ratio{100 * int64(sum), int64(whole)}, true, nil // both far under their bounds
}

// Factor is what a parameter's value is multiplied by, and whether it was
// measured.
func (t *Term) Factor(r *Readings) (Ratio, bool) {
	factor := One.Ratio()
	if t.Times != 0 {
		factor = t.Times.Ratio()
	}
	if t.Of == NoField {
		return factor, true
	}
	of, have := r.Get(t.Of)
	over, ok := r.Get(t.Over)
	if !have || !ok || over <= 0 {
		return Ratio{}, false
	}
	return factor.Mul(of.Over(over)), true
}

// largest is the field of the term with the greatest reading: the one to look
// at again when the sum cannot be.
func (t *Term) largest(r *Readings) Field {
	return slices.MaxFunc(t.Fields, func(a, b Field) int { return int(r.one[a] - r.one[b]) })
}

// findAll finds the parameters that are made of any of the fields, and leaves
// the others as they are.
func (e *Evaluator) findAll(r *Readings, lot []Found, changed FieldSet) error {
	for i := range lot {
		if e.known[i].made&changed == 0 && changed != allFields {
			continue
		}
		if err := e.find(i, r, lot); err != nil {
			return err
		}
	}
	return e.checkParts(lot)
}

// allFields stands for everything that readings hold, direct values and words
// among them.
const allFields = ^FieldSet(0)

// checkParts refuses an "of which" that is more than what it is part of.
func (e *Evaluator) checkParts(lot []Found) error {
	for i := range lot {
		whole := e.known[i].partOf
		if whole < 0 || !lot[i].Measured || !lot[whole].Measured || lot[i].Value.CmpRatio(lot[whole].Value) <= 0 {
			continue
		}
		p := &e.standard.Parameters[i]
		return &RangeError{
			Parameter: p.ID, Derived: !lot[i].Direct,
			Got: lot[i].Value.Round(decimalPlaces), Max: lot[whole].Value.Round(decimalPlaces), Whole: p.PartOf,
		}
	}
	return nil
}

// Find finds parameter i as Grade does, puts it into the lot of those before it, and
// returns the rank of its own grade: 0 where it was not measured, or is an axis of a
// matrix. Errors are those of Grade.
func (e *Evaluator) Find(i int, r *Readings, class string, lot []Found) (rank int, err error) {
	if err := e.find(i, r, lot); err != nil {
		return 0, err
	}
	if !lot[i].Measured || e.standard.Rule == MatrixOf {
		return 0, nil
	}
	return e.ownRank(e.Limits(class), i, &lot[i]), nil
}

// result is a parameter's part of a Result, without grades.
func (e *Evaluator) result(i int, f Found) ParameterResult {
	p := &e.standard.Parameters[i]
	f.Value = f.Value.lowest()
	if f.Measured && p.Unit != Word {
		f.Shown = f.Value.Round(p.Decimals)
	}
	made := len(p.Terms) > 0 && !f.Direct && f.Measured
	return ParameterResult{ID: p.ID, Unit: p.Unit, Basis: p.Basis, Decimals: p.Decimals, Estimate: p.Estimate && made, Found: f}
}

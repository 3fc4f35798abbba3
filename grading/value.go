package grading

import (
	"fmt"
	"slices"
)

// WordError is a word that the parameter does not know.
type WordError struct {
	Parameter ParameterID
	Got       string
	Want      []string
}

func (e *WordError) Error() string {
	return fmt.Sprintf("grading: words.%s is %q, not one of %q", e.Parameter, e.Got, e.Want)
}

// measure gives the value of p from the readings and the parameters before it.
// It leaves Measured false when anything that the value is made of was not
// measured: missing is not zero.
func (s *Standard) measure(p *Parameter, r *Readings, known []ParameterResult) (ParameterResult, error) {
	out := ParameterResult{ID: p.ID, Unit: p.Unit, Basis: p.Basis, Decimals: p.Decimals, step: s.ComparedAt(p)}
	if p.Unit == Word {
		return out, measureWord(p, r, &out)
	}
	if d, ok := r.Values[p.ID]; ok {
		out.Direct = true
		if !s.RoundFirst {
			out.step = 0 // not the meter's
		}
		return out, record(p, d.Ratio(), &out)
	}
	return out, measureTerms(p, r, known, &out)
}

func measureTerms(p *Parameter, r *Readings, known []ParameterResult, out *ParameterResult) error {
	if len(p.Terms) == 0 {
		return nil
	}
	sum := p.Constant.Ratio()
	for i := range p.Terms {
		v, ok, err := p.Terms[i].value(p.Unit, r, known)
		if err == nil && !ok && p.Terms[i].IfKnown {
			continue
		}
		if err != nil || !ok {
			return err
		}
		if p.Terms[i].Negative {
			v = v.neg()
		}
		sum = sum.Add(v)
	}
	out.Estimate = p.Estimate
	if top := 100 * One; p.Estimate && p.Unit.Percentage() && sum.Cmp(top) > 0 {
		// Shares of different wholes may count one kernel twice.
		sum = top.Ratio()
	}
	return record(p, sum, out)
}

// record fills in the value v after checking that a value of the unit can be v.
func record(p *Parameter, v Ratio, out *ParameterResult) error {
	high := MaxValue
	if p.Unit.Percentage() {
		high = 100 * One
	}
	if v.Cmp(0) < 0 || v.Cmp(high) > 0 {
		return &RangeError{Parameter: p.ID, Derived: !out.Direct, Got: v.Round(decimalPlaces), Max: high}
	}
	out.Measured, out.Value, out.Shown = true, v, v.Round(p.Decimals)
	return nil
}

func measureWord(p *Parameter, r *Readings, out *ParameterResult) error {
	w, ok := r.Words[p.ID]
	if !ok {
		return nil
	}
	if !slices.Contains(p.Words, w) {
		return &WordError{Parameter: p.ID, Got: w, Want: p.Words}
	}
	out.Measured, out.Direct, out.Word = true, true, w
	return nil
}

// value is the term's share of its parameter, and whether it was measured.
func (t *Term) value(unit Unit, r *Readings, known []ParameterResult) (Ratio, bool, error) {
	switch t.Kind {
	case MeanOf:
		return r.MeanMoisture(), len(r.Repeats) > 0, nil
	case ValueOf:
		for i := range known {
			if known[i].ID == t.Parameter && known[i].Measured {
				factor, ok := t.factor(r)
				return known[i].Value.Mul(factor), ok, nil
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
		return sum.Ratio(), true, nil
	}
	whole, ok := r.Get(t.Over)
	if !ok {
		return Ratio{}, false, nil
	}
	if t.Kind == CountPer {
		return NewRatio(int64(sum), int64(whole)).Mul(NewRatio(int64(unit.Mass()), int64(One))), true, nil
	}
	if sum > whole {
		return Ratio{}, false, &RangeError{Field: t.largest(r), Got: sum, Max: whole, Over: t.Over}
	}
	return NewRatio(100*int64(sum), int64(whole)), true, nil // both far under their bounds
}

// factor is what a parameter's value is multiplied by, and whether it was
// measured.
func (t *Term) factor(r *Readings) (Ratio, bool) {
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

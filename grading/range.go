package grading

import (
	"cmp"
	"fmt"
	"slices"
)

// The bounds of single readings. They are wide enough for any hand kit and any
// laboratory portion, and keep every sum and share exact in 64 bits.
// Source: assumed, none of them is a limit of a standard.
const (
	// MaxWeight is the greatest weight of a reading, g, inclusive: 10 kg.
	MaxWeight = 10000 * One
	// MaxCount is the greatest number of grains or insects, inclusive.
	MaxCount = 100000 * One
	// MaxRepeats is how many moisture readings of one lot are accepted.
	MaxRepeats = 100
	// MaxValue bounds a directly given value that is not a percentage.
	MaxValue = 1000000 * One
)

// RangeError is a reading that cannot be. Got lies outside Min to Max, both
// inclusive. Over names the field that sets Max, when another reading does
// (the chaff over the sample); NoField when the bound is fixed.
type RangeError struct {
	Field     Field       // NoField when the fault is in a direct value
	Parameter ParameterID // the value at fault, "" when Field is set
	// Derived says that the value was made from readings and not given.
	Derived  bool
	Got      Decimal
	Min, Max Decimal
	Over     Field
	// Whole is the parameter that Parameter is an "of which" of, if that sets Max.
	Whole ParameterID
}

// Name is the key of the input that is at fault: "chaff_g" or
// "values.admixture"; the parameter itself when its value was made from others.
func (e *RangeError) Name() string {
	switch {
	case e.Field != NoField:
		return e.Field.String()
	case e.Derived:
		return string(e.Parameter)
	}
	return "values." + string(e.Parameter)
}

func (e *RangeError) Error() string {
	switch {
	case e.Over != NoField:
		return fmt.Sprintf("grading: %s is %s, more than the %s of %s", e.Name(), e.Got, e.Max, e.Over)
	case e.Whole != "":
		return fmt.Sprintf("grading: %s is %s, more than the %s of %s", e.Name(), e.Got, e.Max, e.Whole)
	}
	return fmt.Sprintf("grading: %s is %s, not between %s and %s", e.Name(), e.Got, e.Min, e.Max)
}

// WholeError is a count that is not a whole number.
type WholeError struct {
	Field Field
	Got   Decimal
}

func (e *WholeError) Error() string {
	return fmt.Sprintf("grading: %s is %s, not a whole number", e.Field, e.Got)
}

// LoneError is for faulty grains without the number of grains counted, or sand
// without the weight of stones and sand together.
type LoneError struct{ Field, Whole Field }

func (e *LoneError) Error() string {
	return fmt.Sprintf("grading: %s came, but %s is missing", e.Field, e.Whole)
}

// CheckLone finds the first reading that came without the whole it is a part
// of: if we ignored it, it would look as if nobody had looked. The error is a
// *LoneError.
func (r *Readings) CheckLone() error {
	if lone := r.has & faultySet; lone != 0 && !r.has.Has(Counted) {
		return &LoneError{Field: lone.Fields()[0], Whole: Counted}
	}
	if r.has.Has(SandWeight) && !r.has.Has(Stones) {
		return &LoneError{Field: SandWeight, Whole: Stones}
	}
	return nil
}

// whole is a reading that parts together cannot exceed.
type whole struct {
	of     Field
	parts  []Field
	fields FieldSet // of and parts
}

// wholes are all of them. Weights that lie beside each other are added; grains
// are not: that more are faulty than were counted is asked back, see FaultsOver.
var wholes = wholesOf()

func wholesOf() (out []whole) {
	for _, f := range inOrder {
		for _, of := range rows[f].of {
			last := len(out) - 1
			if rows[f].beside && f.Kind() == WeightField && last >= 0 && out[last].of == of {
				out[last].parts, out[last].fields = append(out[last].parts, f), out[last].fields.With(f)
				continue
			}
			out = append(out, whole{of, []Field{f}, SetOf(of, f)})
		}
	}
	return out
}

// Check finds the first reading that cannot be, in working order: negative,
// above its bound, a zero whole, a fraction of a grain, a part over its
// whole. Errors are *RangeError, *WholeError and *HandError. Readings that can be but are
// unlikely are not its business.
func (r *Readings) Check() error { return r.checkOnly(allFields) }

// checkOnly is Check of the fields in set, where the others are known to be possible.
func (r *Readings) checkOnly(set FieldSet) error {
	for i, d := range r.Repeats {
		if d < 0 || d > 100*One || i >= MaxRepeats {
			return &RangeError{Field: Moisture, Got: d, Max: 100 * One}
		}
	}
	for _, f := range singles {
		if d := r.one[f]; (r.has & set).Has(f) && (d < fieldBounds[f].low || d > fieldBounds[f].high || countSet.Has(f) && d%One != 0) {
			return fieldError(f, d)
		}
	}
	if err := r.checkHand(); err != nil {
		return err
	}
	return r.checkWholes(set)
}

// fieldBounds are those of a single number by field, and countSet the fields that are whole
// numbers.
var fieldBounds, countSet = boundsOf()

func boundsOf() (out [FieldEnd]struct{ low, high Decimal }, counts FieldSet) {
	for _, f := range singles {
		out[f].high = MaxWeight
		if f.isWhole() {
			out[f].low = 1
		}
		if f.Kind() == CountField {
			out[f].high, counts = MaxCount, counts.With(f)
		}
	}
	out[Counted].low = One
	return out, counts
}

// fieldError is what is wrong with a number out of its bounds, or that is not whole.
func fieldError(f Field, d Decimal) error {
	if b := fieldBounds[f]; d < b.low || d > b.high {
		return &RangeError{Field: f, Got: d, Min: b.low, Max: b.high}
	}
	return &WholeError{Field: f, Got: d}
}

func (r *Readings) checkWholes(set FieldSet) error {
	for i := range wholes {
		w := &wholes[i]
		if !r.has.Has(w.of) || w.fields&set == 0 {
			continue
		}
		sum := Decimal(0)
		for _, f := range w.parts {
			sum += r.one[f]
		}
		if whole := r.one[w.of]; sum > whole {
			largest := slices.MaxFunc(w.parts, func(a, b Field) int { return cmp.Compare(r.one[a], r.one[b]) })
			return &RangeError{Field: largest, Got: sum, Max: whole, Over: w.of}
		}
	}
	return nil
}

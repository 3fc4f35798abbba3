package grading

import (
	"maps"
	"slices"
)

// ParameterID names a parameter of a standard in snake case, such as
// "foreign_matter".
type ParameterID string

// Flag is something seen or smelt that no number carries.
type Flag string

// The flags that the dialogue knows. A standard's gates name them.
const (
	Musty       Flag = "musty"        // musty, sour or fermented smell
	Mouldy      Flag = "mouldy"       // mould to be seen
	Warm        Flag = "warm"         // warm or hot in the bag
	TreatedSeed Flag = "treated_seed" // brightly coloured, dressed grains
	OffOdour    Flag = "off_odour"    // any other foreign smell
	TooWet      Flag = "too_wet"      // by a test without a meter: bitten, or with salt
	VeryWet     Flag = "very_wet"     // likewise, over what moulds and microbes want
)

// Looked says whether anybody looked at a lot, smelt it and felt in it for
// signs that no number shows. If nobody did, the absence of signs means
// nothing, and the lot is never praised.
type Looked uint8

// The states. Their numbers are stored.
const (
	NotRecorded Looked = iota // nobody knows: a check of before it was asked
	NotLooked                 // asked, and not answered yet
	WasLooked
)

// String is the state in words, such as "not looked".
func (l Looked) String() string {
	switch l {
	case NotLooked:
		return "not looked"
	case WasLooked:
		return "looked"
	}
	return "not recorded"
}

// Readings are what a person measured on one lot. What was not measured is
// absent, never zero. The zero value is a lot of which nothing is known.
type Readings struct {
	// Repeats are the moisture readings, % wet basis, in the order taken and as
	// Meter showed them.
	Repeats []Decimal
	// Meter is the meter they were read on. The zero Meter is an unknown one.
	Meter Meter
	// one holds every single-number field that was measured.
	one [FieldEnd]Decimal
	has FieldSet
	// Values gives a parameter directly, in the standard's unit, and overrides
	// what the fields would make (a laboratory's percentage).
	Values map[ParameterID]Decimal
	// Words gives a parameter that is a word, such as colour.
	Words map[ParameterID]string
	// Flags are what was seen or smelt; Looked whether anybody looked at all.
	Flags  []Flag
	Looked Looked
	// Class chooses the column of a standard that has classes.
	Class string
	// Hand is what was counted without tools. No grade is made of it: see package
	// byhand.
	Hand Hand
}

// Get returns a field's number and whether it was measured. For Moisture it is
// the mean of the repeats less the meter's bias, rounded to four decimals.
func (r *Readings) Get(f Field) (Decimal, bool) {
	if f == Moisture {
		if len(r.Repeats) == 0 {
			return 0, false
		}
		return r.MeanMoisture().Round(decimalPlaces), true
	}
	return r.one[f], r.has.Has(f)
}

// Has reports whether a field was measured.
func (r *Readings) Has(f Field) bool {
	_, ok := r.Get(f)
	return ok
}

// Set records a single-number field. For Moisture it replaces the repeats by the
// one that the meter would show.
func (r *Readings) Set(f Field, d Decimal) {
	if f == Moisture {
		r.Repeats = []Decimal{d + r.Meter.Bias}
		return
	}
	r.one[f] = d
	r.has = r.has.With(f)
}

// Unset forgets a field; with stones goes the sand that is of them.
func (r *Readings) Unset(f Field) {
	if f == Stones {
		r.Unset(SandWeight)
	}
	if f == Moisture {
		r.Repeats = nil
		return
	}
	r.one[f] = 0
	r.has &^= SetOf(f)
}

// MeanMoisture is the exact mean of the repeats, less the meter's bias, % wet
// basis; 0 without any.
func (r *Readings) MeanMoisture() Ratio {
	v, _ := r.meanMoisture()
	return NewRatio(v.num, v.den)
}

// meanMoisture is MeanMoisture, not in lowest terms, and of how many.
func (r *Readings) meanMoisture() (mean Ratio, n int) {
	n = len(r.Repeats)
	sum := Sum(r.Repeats) - Decimal(n)*r.Meter.Bias
	return Ratio{int64(max(sum, 0)), int64(One) * int64(max(n, 1))}, n
}

// Unlooked reports whether nobody is known to have looked for signs. A sign
// that was reported counts as looked for. A bitten grain shows only water.
func (r *Readings) Unlooked() bool { return r.Looked != WasLooked && !r.Signed() }

// Signed reports whether anything was seen or smelt.
func (r *Readings) Signed() bool {
	return slices.ContainsFunc(r.Flags, func(f Flag) bool { return !f.OfWater() })
}

// WetByHand is what a test without a meter found: TooWet or VeryWet, or "" where
// it found nothing, or a meter has read the lot, which is surer.
func (r *Readings) WetByHand() Flag {
	switch {
	case len(r.Flags) == 0 || len(r.Repeats) > 0:
	case slices.Contains(r.Flags, VeryWet):
		return VeryWet
	case slices.Contains(r.Flags, TooWet):
		return TooWet
	}
	return ""
}

// OfWater reports whether a sign was found by a test without a meter.
func (f Flag) OfWater() bool { return f == TooWet || f == VeryWet }

// Clone is a deep copy: nothing of it is shared with r.
func (r *Readings) Clone() Readings {
	c := *r
	c.Repeats = append([]Decimal(nil), r.Repeats...)
	c.Flags = append([]Flag(nil), r.Flags...)
	if r.Values != nil {
		c.Values = make(map[ParameterID]Decimal, len(r.Values))
		for k, v := range r.Values {
			c.Values[k] = v
		}
	}
	if r.Words != nil {
		c.Words = make(map[ParameterID]string, len(r.Words))
		for k, v := range r.Words {
			c.Words[k] = v
		}
	}
	return c
}

// Changed is the fields in which the readings are others than from; all fields where
// anything is that is no field's number.
func (r *Readings) Changed(from *Readings) FieldSet {
	if r.Class != from.Class || r.Hand != from.Hand || !maps.Equal(r.Values, from.Values) || !maps.Equal(r.Words, from.Words) ||
		!slices.Equal(r.Flags, from.Flags) {
		return allFields
	}
	set := r.has ^ from.has
	for f := range r.one {
		if r.one[f] != from.one[f] {
			set |= 1 << f
		}
	}
	if r.Meter != from.Meter || !slices.Equal(r.Repeats, from.Repeats) {
		set = set.With(Moisture)
	}
	return set
}

// Same reports whether two readings hold the same: what was measured, in the
// order taken, and what was seen, in any order.
func (r *Readings) Same(other *Readings) bool {
	seen := func(f []Flag) []Flag { return slices.Compact(slices.Sorted(slices.Values(f))) }
	return slices.Equal(r.Repeats, other.Repeats) && r.Meter == other.Meter && r.has == other.has && r.one == other.one &&
		maps.Equal(r.Values, other.Values) && maps.Equal(r.Words, other.Words) &&
		slices.Equal(seen(r.Flags), seen(other.Flags)) && r.Looked == other.Looked && r.Class == other.Class && r.Hand == other.Hand
}

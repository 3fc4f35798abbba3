package grading

import (
	"fmt"
	"maps"
	"slices"
)

// Field names one thing that a person can measure on a lot with hand tools.
// Moisture alone holds several numbers (the repeats); every other field one.
type Field uint8

// The fields, in the order in which the work is done. Append only: stored
// checks carry these numbers through their names, tests walk the range.
const (
	NoField Field = iota
	// Moisture is one meter reading, % wet basis (water over weighed mass).
	Moisture
	// SampleMass is the mass of paddy sieved and picked, g, as received.
	SampleMass
	// Organic is chaff, straw, empty husks, weed seed picked or sieved out, g.
	Organic
	// Inorganic is stones, sand, soil picked or sieved out, g.
	Inorganic
	// CleanMass is what is left of the sample after cleaning, g.
	CleanMass
	// BrownMass is the husked (brown) rice of the clean paddy, g.
	BrownMass
	// ImmatureMass is thin, green or chalky brown rice that the second sieve
	// lets through or that is picked out, g.
	ImmatureMass
	// Counted is how many husked kernels lay on the pan.
	Counted
	// PestDamaged is how many of Counted are bored or eaten.
	PestDamaged
	// Discoloured is how many of Counted are yellow, black, spotted, stained.
	Discoloured
	// Red is how many of Counted carry a red skin on a quarter or more of the
	// surface ([AGMARK-RICE]).
	Red
	// OtherVariety is how many of Counted are plainly of another variety.
	OtherVariety
	// Cracked is how many of Counted show a crack against the light.
	Cracked
	// LiveWeevils is how many live weevils were seen in the sample.
	LiveWeevils
	// LiveOthers is how many other live injurious insects were seen.
	LiveOthers

	fieldEnd
)

// FieldKind says what sort of number a field takes.
type FieldKind uint8

// The kinds of field.
const (
	PercentField FieldKind = iota // % wet basis, several repeats
	MassField                     // g
	CountField                    // whole kernels or insects
)

var fieldNames = [fieldEnd]string{
	"", "moisture", "sample_g", "organic_g", "inorganic_g", "clean_g", "brown_g", "immature_g",
	"counted", "pest_damaged", "discoloured", "red", "other_variety", "cracked", "live_weevils", "live_others",
}

// String is the field's name in files and on the wire, such as "organic_g".
func (f Field) String() string {
	if f < fieldEnd {
		return fieldNames[f]
	}
	return fmt.Sprintf("Field(%d)", f)
}

// ParseField is the inverse of String. It returns NoField and false for a name
// that is not a field's.
func ParseField(name string) (Field, bool) {
	for f := NoField + 1; f < fieldEnd; f++ {
		if fieldNames[f] == name {
			return f, true
		}
	}
	return NoField, false
}

// Fields lists all fields in working order.
func Fields() []Field {
	all := make([]Field, 0, fieldEnd-1)
	for f := NoField + 1; f < fieldEnd; f++ {
		all = append(all, f)
	}
	return all
}

// Kind says whether the field is a percent, a mass or a count.
func (f Field) Kind() FieldKind {
	switch {
	case f == Moisture:
		return PercentField
	case f >= SampleMass && f <= ImmatureMass:
		return MassField
	}
	return CountField
}

// ParameterID names a parameter of a standard in snake case, such as
// "foreign_matter".
type ParameterID string

// Flag is something seen or smelt that no number carries.
type Flag string

// The flags that the dialogue asks for. A standard's gates name them.
const (
	Musty       Flag = "musty"        // musty, sour or fermented smell
	Mouldy      Flag = "mouldy"       // mould to be seen
	Heating     Flag = "heating"      // warm or hot in the bag
	TreatedSeed Flag = "treated_seed" // brightly coloured, dressed kernels
	OffOdour    Flag = "off_odour"    // any other foreign smell
)

// Readings are what a person measured on one lot. What was not measured is
// absent, never zero. The zero value is a lot of which nothing is known.
type Readings struct {
	// Repeats are the moisture readings, % wet basis, in the order taken.
	Repeats []Decimal
	// one holds every single-number field that was measured.
	one [fieldEnd]Decimal
	has uint32
	// Values gives a parameter directly, in the standard's unit, and overrides
	// what the fields would make (a laboratory's percentage).
	Values map[ParameterID]Decimal
	// Words gives a parameter that is a word, such as colour.
	Words map[ParameterID]string
	// Flags are what was seen or smelt.
	Flags []Flag
	// Class chooses the column of a standard that has classes.
	Class string
}

// Get returns a field's number and whether it was measured. For Moisture it is
// the mean of the repeats, rounded to four decimals.
func (r *Readings) Get(f Field) (Decimal, bool) {
	if f == Moisture {
		if len(r.Repeats) == 0 {
			return 0, false
		}
		return r.MeanMoisture().Round(decimalPlaces), true
	}
	return r.one[f], r.has&(1<<f) != 0
}

// Has tells whether a field was measured.
func (r *Readings) Has(f Field) bool {
	_, ok := r.Get(f)
	return ok
}

// Set records a single-number field. For Moisture it replaces the repeats.
func (r *Readings) Set(f Field, d Decimal) {
	if f == Moisture {
		r.Repeats = []Decimal{d}
		return
	}
	r.one[f] = d
	r.has |= 1 << f
}

// Unset forgets a field.
func (r *Readings) Unset(f Field) {
	if f == Moisture {
		r.Repeats = nil
		return
	}
	r.one[f] = 0
	r.has &^= 1 << f
}

// MeanMoisture is the exact mean of the repeats, % wet basis; 0 without any.
func (r *Readings) MeanMoisture() Ratio {
	if len(r.Repeats) == 0 {
		return Ratio{}
	}
	return NewRatio(int64(sumOf(r.Repeats)), int64(One)*int64(len(r.Repeats)))
}

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

// Same tells whether two readings hold the same: what was measured, in the order
// taken, and what was seen, in any order.
func (r *Readings) Same(other *Readings) bool {
	seen := func(f []Flag) []Flag { return slices.Compact(slices.Sorted(slices.Values(f))) }
	return slices.Equal(r.Repeats, other.Repeats) && r.has == other.has && r.one == other.one &&
		maps.Equal(r.Values, other.Values) && maps.Equal(r.Words, other.Words) &&
		slices.Equal(seen(r.Flags), seen(other.Flags)) && r.Class == other.Class
}

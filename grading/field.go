package grading

import (
	"fmt"
	"math/bits"
	"slices"
)

// Field names one thing that a person can measure on a lot with hand tools.
// Only Moisture has several numbers (the repeats); every other field has one.
// The table of readings says everything about each.
type Field uint8

// The fields. The numbers are those under which checks are stored: a new field
// takes the next one, below FieldEnd, and none is ever used again. Working order
// is that of the table, not of the numbers.
const (
	NoField Field = 0
	// Moisture is one meter reading, % wet basis (water over weighed weight).
	Moisture Field = 1
	// SampleWeight is the weight of paddy sieved and picked, g, as received.
	SampleWeight Field = 2
	// Chaff is chaff, straw, empty husks, weed seed picked or sieved out, g.
	Chaff Field = 3
	// Stones is stones, sand, soil picked or sieved out, g.
	Stones Field = 4
	// CleanWeight is what is left of the sample after cleaning, g.
	CleanWeight Field = 5
	// BrownWeight is the husked (brown) rice of the clean paddy, g.
	BrownWeight Field = 6
	// ImmatureWeight is whole grains of brown rice that are thin, green or chalky:
	// what the second sieve lets through once broken pieces are out, g.
	ImmatureWeight Field = 7
	// Counted is how many husked grains lay on the pan.
	Counted Field = 8
	// PestDamaged is how many of Counted are bored or eaten.
	PestDamaged Field = 9
	// Discoloured is how many of Counted are yellow, black, spotted, stained.
	Discoloured Field = 10
	// Red is how many of Counted carry a red skin on a quarter or more of the
	// surface ([AGMARK-RICE]).
	Red Field = 11
	// OtherVariety is how many of Counted are plainly of another variety.
	OtherVariety Field = 12
	// Cracked is how many of Counted show a crack against the light.
	Cracked Field = 13
	// LiveWeevils is how many live weevils were seen in the sample.
	LiveWeevils Field = 14
	// LiveOthers is how many other live injurious insects were seen.
	LiveOthers Field = 15
	// BrokenWeight is broken pieces of the brown rice, taken out before ImmatureWeight
	// is weighed, g.
	BrokenWeight Field = 16

	// SandWeight is what of Stones fell through the sieve, g, where that was weighed
	// apart from what was picked. Stones are always both.
	SandWeight Field = 17

	// FieldEnd is one more than the highest field, for arrays by field; at most
	// 64, the room of a FieldSet.
	FieldEnd = 18
)

// String is the field's name in files and on the wire, such as "chaff_g".
func (f Field) String() string {
	switch {
	case f == NoField:
		return ""
	case f < FieldEnd:
		return rows[f].name
	}
	return fmt.Sprintf("Field(%d)", uint8(f))
}

// ParseField is the inverse of String. It returns NoField and false if no field
// has the name.
func ParseField(name string) (Field, bool) {
	for _, f := range inOrder {
		if rows[f].name == name {
			return f, true
		}
	}
	return NoField, false
}

// Kind says whether the field is a percent, a weight or a count.
func (f Field) Kind() FieldKind { return rows[f].kind }

// Group is what the field is taken together with.
func (f Field) Group() Group { return rows[f].group }

// Of is the whole that shares of the field are taken of; NoField when it is part
// of none.
func (f Field) Of() Field {
	if of := rows[f].of; len(of) > 0 {
		return of[0]
	}
	return NoField
}

// Example is an entry that shows how the field is sent, such as "0.24"; invented.
func (f Field) Example() string { return rows[f].like }

// Screen is the screen that asks for the field; "" when none does.
func (f Field) Screen() string { return rows[f].screen }

// Learnt reports whether we learn how much of it lots usually have.
func (f Field) Learnt() bool { return rows[f].learnt }

// Lasting reports whether nothing done to a lot lessens what the field counts,
// and whether that does not grow in the store either.
func (f Field) Lasting() bool { return rows[f].lasting }

// Fields lists all fields in working order.
func Fields() []Field { return slices.Clone(inOrder) }

// FieldsOf lists the fields of a group in working order.
func FieldsOf(g Group) []Field {
	return fieldsWhere(func(r *reading) bool { return r.group == g })
}

// AskedOn lists the fields that a screen asks for, in working order.
func AskedOn(screen string) []Field {
	return fieldsWhere(func(r *reading) bool { return r.screen == screen })
}

// FlagsOn lists the flags that a screen asks for, in its order.
func FlagsOn(screen string) []Flag {
	return flagsWhere(func(r *reading) bool { return r.screen == screen })
}

// Flags lists the flags that the dialogue knows, whatever the standard.
func Flags() []Flag { return slices.Clone(asked) }

// partsOf lists the fields that can be no more than a whole, in working order.
func partsOf(whole Field) []Field {
	return fieldsWhere(func(r *reading) bool { return slices.Contains(r.of, whole) })
}

// isWhole reports whether shares are taken of the field, so that it cannot be
// zero. What lies beside others can.
func (f Field) isWhole() bool { return wholeSet.Has(f) && !rows[f].beside }

var wholeSet = func() (set FieldSet) {
	for i := range readingTable {
		for _, f := range readingTable[i].of {
			set = set.With(f)
		}
	}
	return set
}()

// FieldSet is a set of fields.
type FieldSet uint64

// SetOf is the set of the fields given.
func SetOf(fields ...Field) (set FieldSet) {
	for _, f := range fields {
		set |= 1 << f
	}
	return set
}

// Has reports whether f is in the set.
func (s FieldSet) Has(f Field) bool { return s>>(f&63)&1 != 0 }

// With is the set and f.
func (s FieldSet) With(f Field) FieldSet { return s | 1<<f }

// Fields lists the set in working order.
func (s FieldSet) Fields() (out []Field) {
	for _, f := range inOrder {
		if s.Has(f) {
			out = append(out, f)
		}
	}
	return out
}

// Len is how many fields are in the set.
func (s FieldSet) Len() int { return bits.OnesCount64(uint64(s)) }

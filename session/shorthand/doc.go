// Package shorthand reads a whole check out of one SMS: letters or trade words of
// the person's language, each with its numbers, in any order.
//
// It decides what was meant or says what it could not read; it never guesses
// silently, files nothing and knows no person. The grammar is in GRAMMAR.md.
package shorthand

import (
	"slices"

	"threshline/grading"
)

// Message is what one SMS holds: a check for each grower.
type Message struct{ Lots []Lot }

// Lot is one grower's check as far as it was typed.
type Lot struct {
	Grower Grower
	Bags   int             // 0 not said
	BagKG  grading.Decimal // kg of one bag; 0 not said
	KG     grading.Decimal // kg of the whole lot; 0 not said
	// Slip is the slip of the check that this one repeats, in capitals, not verified.
	Slip     string
	Readings grading.Readings
	// Bite and Salt are what a test without a meter showed, by its number on the
	// screen; 0 not said.
	Bite, Salt int
	// Unable lists the fields that the person said they cannot measure, in working
	// order.
	Unable []grading.Field
}

// Grower is whose lot it is: an agent's short number, a name, or both.
type Grower struct {
	Short int // 1 to 99; 0 not said
	Name  string
	// Bare says that the name stood without its letter. It is a name only if the sender
	// has such a grower; otherwise the words were not understood.
	Bare bool
}

// Empty reports whether nothing at all was said of the lot.
func (l *Lot) Empty() bool {
	return l.Fields() == 0 && !l.named() && len(l.Readings.Flags) == 0 && l.Readings.Looked == grading.NotRecorded
}

func (l *Lot) named() bool { return l.Grower != Grower{} || l.Slip != "" }

// Fields counts what was said: readings, those that cannot be measured, bags
// and weight.
func (l *Lot) Fields() (n int) {
	for _, f := range grading.Fields() {
		if l.Readings.Has(f) {
			n++
		}
	}
	if l.Bags > 0 {
		n++
	}
	if l.KG > 0 {
		n++
	}
	if l.Readings.Hand != (grading.Hand{}) {
		n++
	}
	if l.Bite > 0 || l.Salt > 0 {
		n++
	}
	return n + len(l.Unable)
}

// Missing lists the needed fields that were neither measured nor said to be beyond the
// person's kit, in the order of needs.
func (l *Lot) Missing(needs []grading.Field) (missing []grading.Field) {
	for _, f := range needs {
		if !l.Readings.Has(f) && !l.unable(f) {
			missing = append(missing, f)
		}
	}
	return missing
}

func (l *Lot) unable(f grading.Field) bool {
	return slices.Contains(l.Unable, f)
}

// Trouble says what is wrong with a part of a message.
type Trouble string

// The troubles.
const (
	UnknownWord Trouble = "unknown word" // Typed is not in the lists
	NoNumber    Trouble = "no number"    // Key stands without its number
	LooseNumber Trouble = "loose number" // Typed stands behind no word
	Ambiguous   Trouble = "ambiguous"    // Typed can be read in two ways, such as 1,200
	Impossible  Trouble = "impossible"   // Typed cannot be: negative, too large, a part over its whole
	Twice       Trouble = "twice"        // Key stands twice with different numbers: the first is kept
	Vague       Trouble = "vague"        // Typed names no one number: "13 to 14", "half"
	WhichDirt   Trouble = "which dirt"   // Typed is of dirt: chaff or stones
	Uncounted   Trouble = "uncounted"    // a check by hand without all its counts: Typed came
	TooLong     Trouble = "too long"     // more text or more lots than one message can hold: Typed was not read
)

// Problem is a part of a message that could not be taken, and what a right one looks
// like. The rest of the message stands.
type Problem struct {
	Lot     int // index in Message.Lots; their number if it is of none
	Trouble Trouble
	// Key is the list of words that the problem is about, without its table: a field's
	// name such as "chaff_g", or "bags", "weight", "grower", "slip"; "" for none.
	Key   string
	Field grading.Field // NoField when Key is no field
	Typed string
	// Min and Max bound an impossible number, both inclusive; both are 0 if no bound
	// was passed. Over names the field that sets Max.
	Min, Max grading.Decimal
	Over     grading.Field
	// Example is how it would be typed rightly, in the person's language.
	Example string
}

package grading

import (
	"errors"
	"fmt"
	"slices"
)

// ErrCombine is wrapped by the errors of Combine.
var ErrCombine = errors.New("grading: combine")

// Combined is two or more checks of one lot taken as one.
type Combined struct {
	// Readings are what one person would have read on all samples together:
	// assessing them gives the combined values with their bounds.
	Readings Readings
	// Checks is how many were combined. Sieved lists those whose weighed part
	// went in, Panned those whose counts did, by their place in the call.
	Checks         int
	Sieved, Panned []int
}

// Combine pools checks of one lot, by the rules of one larger sample: grams
// are added to grams and grains to grains, so that a larger sample weighs
// more; moisture readings are put side by side; insects and counts by hand are added, as the rule
// for a lot as a whole does [CFR-868 §868.212]; a flag raised in any check
// stays, and whoever looked looked at the lot; of words the worst by the standard counts. Values given directly,
// whose samples are not known, are averaged, and override readings as in one
// check.
//
// A check that lacks a weighed field which the fullest check has is left out of
// the weighing, and likewise for the pan: what is missing is not zero. The
// caller must know that the lot has not changed between the checks; Differences
// helps to see it.
//
// Errors wrap ErrCombine: no checks at all, checks of different classes, or a
// field without a rule for pooling it: no field is dropped silently.
func Combine(s *Standard, checks ...Readings) (Combined, error) {
	if len(checks) == 0 {
		return Combined{}, fmt.Errorf("%w: no checks", ErrCombine)
	}
	out := Combined{Checks: len(checks)}
	r := &out.Readings
	r.Class = checks[0].Class
	for i := range checks {
		c := &checks[i]
		if c.Class != r.Class {
			return Combined{}, fmt.Errorf("%w: classes %q and %q", ErrCombine, r.Class, c.Class)
		}
		r.addRepeats(c)
		r.addHand(c)
		for _, f := range c.Flags {
			if !slices.Contains(r.Flags, f) {
				r.Flags = append(r.Flags, f)
			}
		}
		r.Looked = max(r.Looked, c.Looked)
		worseWords(s, r, c)
	}
	for _, f := range inOrder {
		switch rows[f].group {
		case Water, Weighed, Pan: // moisture is done, the others are below
		case Insects:
			for i := range checks {
				addField(r, &checks[i], f)
			}
		default:
			return Combined{}, fmt.Errorf("%w: nothing says how %s is pooled", ErrCombine, f)
		}
	}
	out.Sieved = pool(r, checks, FieldsOf(Weighed))
	out.Panned = pool(r, checks, FieldsOf(Pan))
	meanValues(r, checks)
	return out, nil
}

// addRepeats puts moisture readings side by side: as they were shown while all are
// of one meter, else corrected each by its own.
func (r *Readings) addRepeats(c *Readings) {
	switch {
	case len(c.Repeats) == 0:
		return
	case len(r.Repeats) == 0:
		r.Meter = c.Meter
	case r.Meter != c.Meter:
		for i := range r.Repeats {
			r.Repeats[i] = max(r.Repeats[i]-r.Meter.Bias, 0)
		}
		both := r.Meter.together(c.Meter)
		for _, d := range c.Repeats {
			r.Repeats = append(r.Repeats, max(d-c.Meter.Bias, 0))
		}
		r.Meter = both
		return
	}
	r.Repeats = append(r.Repeats, c.Repeats...)
}

var spares = SetOf(fieldsWhere(func(r *reading) bool { return r.spare })...)

func addField(to, from *Readings, f Field) {
	if v, ok := from.Get(f); ok {
		have, _ := to.Get(f)
		to.Set(f, have+v)
	}
}

// pool adds a group's fields over the checks that measured all that the
// fullest of them did, and returns these.
func pool(to *Readings, checks []Readings, group []Field) []int {
	of := SetOf(group...) &^ spares
	var fullest FieldSet
	for i := range checks {
		if set := checks[i].has & of; set.Len() > fullest.Len() {
			fullest = set
		}
	}
	if fullest == 0 {
		return nil
	}
	var used []int
	all := allFields
	for i := range checks {
		if checks[i].has&of != fullest {
			continue
		}
		used = append(used, i)
		all &= checks[i].has
		for _, f := range group {
			addField(to, &checks[i], f)
		}
	}
	for _, f := range (SetOf(group...) & spares &^ all).Fields() {
		to.Unset(f)
	}
	return used
}

func meanValues(to *Readings, checks []Readings) {
	sums, counts := map[ParameterID]Decimal{}, map[ParameterID]int64{}
	for i := range checks {
		for id, v := range checks[i].Values {
			sums[id] += v
			counts[id]++
		}
	}
	if len(sums) == 0 {
		return
	}
	to.Values = make(map[ParameterID]Decimal, len(sums))
	for id, sum := range sums {
		to.Values[id] = NewRatio(int64(sum), int64(One)*counts[id]).Round(decimalPlaces)
	}
}

func worseWords(s *Standard, to, from *Readings) {
	for id, word := range from.Words {
		if to.Words == nil {
			to.Words = make(map[ParameterID]string)
		}
		have, ok := to.Words[id]
		p := s.Parameter(id)
		if !ok || p != nil && slices.Index(p.Words, word) > slices.Index(p.Words, have) {
			to.Words[id] = word
		}
	}
}

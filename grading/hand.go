package grading

import (
	"encoding/json"
	"fmt"
)

// Hand is what a check by hand counted, without scale, husker or meter: of grains
// counted off handfuls of paddy, and of those husked between thumb and board. The
// zero value says that none was made. What the counts let the lot be is worked
// out by package byhand.
type Hand struct {
	// Grains were counted off, stones and clods not among them. Of these Empty are
	// empty husks or other chaff, and Green are green or half filled, in the husk.
	// Stones and clods lay beside them.
	Grains, Empty, Stones, Green uint16
	// Husked are those of Grains that were husked, and Red, Bored and Discoloured
	// what was seen of them. A grain counts once.
	Husked, Red, Bored, Discoloured uint16
	// Handfuls is from how many bags a handful was taken; 0 when not said.
	Handfuls uint16
}

// MostByHand is the largest count of a check by hand that is taken.
const MostByHand = 5000

// HandFault says which counts of a check by hand cannot be. The words are in
// package wording under "hand_fault.<id>".
type HandFault string

// The faults, in the order in which they are looked for.
const (
	HandNoGrains   HandFault = "no_grains"          // none were counted off
	HandTooMany    HandFault = "too_many"           // a count over MostByHand
	HandPartsOver  HandFault = "parts_over_grains"  // more empty and green than grains
	HandMostEmpty  HandFault = "mostly_empty"       // more than half are empty: winnowing comes first, since such a lot's counts say little
	HandStonesOver HandFault = "stones_over_grains" // more stones than grains
	HandHuskedOver HandFault = "husked_over_full"   // more husked than grains that are not empty
	HandSeenOver   HandFault = "seen_over_husked"   // more red, bored and discoloured than husked
)

// HandFaults lists every fault.
func HandFaults() []HandFault {
	return []HandFault{HandNoGrains, HandTooMany, HandPartsOver, HandMostEmpty, HandStonesOver, HandHuskedOver, HandSeenOver}
}

// Made reports whether a check by hand was made.
func (h Hand) Made() bool { return h.Grains > 0 }

// Fault is the first thing about the counts that cannot be; false when they can.
// The zero Hand lacks grains.
func (h Hand) Fault() (HandFault, bool) {
	sum := func(counts ...uint16) (n int) {
		for _, c := range counts {
			n += int(c)
		}
		return n
	}
	switch {
	case h.Grains == 0:
		return HandNoGrains, true
	case max(h.Grains, h.Empty, h.Stones, h.Green, h.Husked, h.Red, h.Bored, h.Discoloured, h.Handfuls) > MostByHand:
		return HandTooMany, true
	case sum(h.Empty, h.Green) > int(h.Grains):
		return HandPartsOver, true
	case 2*h.Empty > h.Grains:
		return HandMostEmpty, true
	case h.Stones > h.Grains:
		return HandStonesOver, true
	case h.Husked > h.Grains-h.Empty:
		return HandHuskedOver, true
	case sum(h.Red, h.Bored, h.Discoloured) > int(h.Husked):
		return HandSeenOver, true
	}
	return "", false
}

// addHand takes the counts of two checks as one of more handfuls, while one can
// count so many. Each can be, so no sum overflows.
func (r *Readings) addHand(c *Readings) {
	h, other := r.Hand, c.Hand
	both := Hand{
		h.Grains + other.Grains, h.Empty + other.Empty, h.Stones + other.Stones, h.Green + other.Green,
		h.Husked + other.Husked, h.Red + other.Red, h.Bored + other.Bored, h.Discoloured + other.Discoloured,
		h.Handfuls + other.Handfuls,
	}
	if _, fault := both.Fault(); both.Made() && !fault {
		r.Hand = both
	}
}

// HandError says that counts by hand cannot be.
type HandError struct{ Fault HandFault }

func (e *HandError) Error() string {
	return fmt.Sprintf("grading: %s: %s", handKey, handFaults[e.Fault])
}

var handFaults = map[HandFault]string{
	HandNoGrains:   "no grains were counted",
	HandTooMany:    "a count is over 5000",
	HandPartsOver:  "more grains are empty and green than were counted",
	HandMostEmpty:  "more than half of the grains are empty: winnow, then count again",
	HandStonesOver: "more stones lie beside the grains than grains",
	HandHuskedOver: "more grains were husked than are not empty",
	HandSeenOver:   "more kernels are red, bored and discoloured than were husked",
}

// checkHand refuses counts that cannot be.
func (r *Readings) checkHand() error {
	if r.Hand == (Hand{}) {
		return nil
	}
	if fault, ok := r.Hand.Fault(); ok {
		return &HandError{Fault: fault}
	}
	return nil
}

// ByHand reports whether the lot is known by a check by hand: nothing was weighed,
// and no pan counted. Insects and signs are seen without tools, and who has a
// moisture meter may have no scale.
func (r *Readings) ByHand() bool {
	return r.Hand.Made() && r.has&^insectSet == 0 && len(r.Values) == 0 && len(r.Words) == 0
}

var insectSet = SetOf(FieldsOf(Insects)...)

// wireHand is Hand as it is written. A count that was not made is absent; what was
// counted off has all three counts beside it, and what was husked likewise.
type wireHand struct {
	Grains      uint16  `json:"grains"`
	Empty       *uint16 `json:"empty"`
	Stones      *uint16 `json:"stones"`
	Green       *uint16 `json:"green"`
	Husked      uint16  `json:"husked,omitempty"`
	Red         *uint16 `json:"red,omitempty"`
	Bored       *uint16 `json:"bored,omitempty"`
	Discoloured *uint16 `json:"discoloured,omitempty"`
	Handfuls    uint16  `json:"handfuls,omitempty"`
}

func (h *Hand) wire() wireHand {
	w := wireHand{Grains: h.Grains, Empty: &h.Empty, Stones: &h.Stones, Green: &h.Green, Husked: h.Husked, Handfuls: h.Handfuls}
	if h.Husked > 0 {
		w.Red, w.Bored, w.Discoloured = &h.Red, &h.Bored, &h.Discoloured
	}
	return w
}

const (
	wantHand    = `counts such as {"grains":200,"empty":12,"stones":1,"green":6,"husked":50,"red":4,"bored":0,"discoloured":1,"handfuls":3}`
	wantCount   = "a whole number of at most 5000"
	wantCounted = "a count, 0 when none was found"
)

// hand reads counts by hand. Each count that belongs to what was counted must be
// there: what nobody looked for is not none.
func (in *reader) hand(value []byte) error {
	if string(value) == "null" {
		return nil
	}
	var w map[string]json.RawMessage
	if json.Unmarshal(value, &w) != nil {
		return &InputError{Field: handKey, Want: wantHand}
	}
	h := &in.r.Hand
	counts := []struct {
		name string
		to   *uint16
		with *uint16 // it must be there when this one is over 0
	}{
		{"grains", &h.Grains, nil}, {"husked", &h.Husked, nil}, {"handfuls", &h.Handfuls, nil},
		{"empty", &h.Empty, &h.Grains}, {"stones", &h.Stones, &h.Grains}, {"green", &h.Green, &h.Grains},
		{"red", &h.Red, &h.Husked}, {"bored", &h.Bored, &h.Husked}, {"discoloured", &h.Discoloured, &h.Husked},
	}
	known := 0
	for _, c := range counts {
		text, there := w[c.name]
		if there {
			known++
		}
		if !there || string(text) == "null" {
			if c.with != nil && *c.with > 0 {
				return &InputError{Field: handKey + "." + c.name, Want: wantCounted}
			}
			continue
		}
		d, err := ParseDecimal(string(text))
		if err != nil || d < 0 || d > MostByHand*One || d%One != 0 {
			return &InputError{Field: handKey + "." + c.name, Want: wantCount}
		}
		*c.to = uint16(d / One)
	}
	if known != len(w) || h.Grains == 0 {
		return &InputError{Field: handKey, Want: wantHand}
	}
	return nil
}

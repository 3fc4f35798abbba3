package programme

import (
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
)

// HandPair is what a check by hand said of a lot, held against the check with the
// kit that came after it.
type HandPair struct {
	Apart PairApart
	// Values are of the parameters of which something was counted, in the standard's
	// order.
	Values []HandValue
	// Stated says that likely grades were said, with Chance; Held that the grade
	// measured is one of them.
	Stated, Held bool
	Chance       float64
	// ByHand and ByKit are the remedies for this lot that each advised, and Tried that
	// which hands had tried; "" none.
	ByHand, Tried, ByKit advice.RemedyID
}

// HandValue is a parameter's value by hand and by the kit, in its unit.
type HandValue struct {
	Parameter grading.ParameterID
	// Said is the mean over all that the lot may be by hand, and Doubt its standard
	// deviation. Measured is what the kit gave, which has a doubt of its own.
	Said, Doubt, Measured float64
}

// Within reports whether the kit's value lies within one standard deviation of what
// was said: in some two of three pairs, where the doubt is right.
func (v *HandValue) Within() bool {
	return v.Measured >= v.Said-v.Doubt && v.Measured <= v.Said+v.Doubt
}

// PairApart says why two checks of a lot are not held against each other.
type PairApart string

// The reasons.
const (
	PairTogether   PairApart = ""
	PairLate       PairApart = "late"        // the lot may be another by now: dried, cleaned
	PairOtherTable PairApart = "other_table" // measured by a table, or a procedure, that is not in force
)

// pairWithin is how long after a check by hand one with the kit is of the lot as
// it was. Source: our choice, [ASSUMED-HAND].
const pairWithin = 3 * 24 * time.Hour

// HoldHand holds a check by hand against the check with the kit of the same lot
// after it. What was said by hand is reckoned again, as everywhere.
func (p *Programme) HoldHand(hand, kit *session.Check) HandPair {
	s := p.Standard
	switch {
	case kit.At.Sub(hand.At) > pairWithin:
		return HandPair{Apart: PairLate}
	case kit.StandardID != s.ID || kit.Edition != s.Edition || kit.Procedure != session.Procedure:
		return HandPair{Apart: PairOtherTable}
	}
	said, err := p.JudgeHand(hand.Lot, hand.Readings, hand.At, nil)
	if err != nil { // a class that the standard no longer has
		return HandPair{Apart: PairOtherTable}
	}
	var pair HandPair
	for _, share := range said.Likely.Shares {
		if v, ok := kit.Values[share.Parameter]; ok && share.Counted {
			pair.Values = append(pair.Values, HandValue{share.Parameter, share.Mean, share.Deviation, v.Float()})
		}
	}
	if rank, ok := measuredRank(s, kit, said.Likely.IfDry); ok && !said.Stops() {
		pair.Stated, pair.Chance = true, said.Likely.Chance
		pair.Held = rank >= said.Likely.From && rank <= said.Likely.To
	}
	pair.ByHand, pair.Tried, pair.ByKit = forThisLot(said.Advice.Best.Remedy), forThisLot(said.Advice.Try.Remedy), forThisLot(kit.Remedy)
	return pair
}

// meetsEvery is a moisture that meets every standard's limit, % wet basis.
const meetsEvery = 12 * grading.One

// measuredRank is the rank of a lot as the kit measured it, whatever was seen or
// smelt, and once it is dry if that was said. One below the grades is out of grade.
func measuredRank(s *grading.Standard, kit *session.Check, dry bool) (rank int, ok bool) {
	r := kit.Readings.Clone()
	r.Flags = nil
	if dry {
		delete(r.Values, "moisture")
		r.Set(grading.Moisture, meetsEvery)
	}
	res, err := grading.Grade(s, r)
	if err != nil || !res.Complete {
		return 0, false
	}
	return min(res.Rank, len(s.Grades)+1), true
}

// forThisLot is a remedy where it changes this lot.
func forThisLot(id advice.RemedyID) advice.RemedyID {
	if r := advice.RemedyOf(id); r != nil && r.When == advice.ThisLot && r.Changes() {
		return id
	}
	return ""
}

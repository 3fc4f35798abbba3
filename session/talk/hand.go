package talk

import (
	"fmt"
	"slices"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// JudgedHand returns what the counts of a filed check by hand let its lot be, as of
// when it was filed; false where that cannot be said. The last answer is remembered,
// since the next screens are mostly about the same lot and it takes long to work out.
func (t *Filing) JudgedHand(c session.Check) (programme.HandJudged, bool) {
	past := t.past(c.Lot.Grower, c.At, []session.Slip{c.Slip, c.Recheck})
	readings, err := c.Readings.MarshalJSON()
	if err != nil {
		return programme.HandJudged{}, false
	}
	of := fmt.Sprintf("%p %v %s %d %v", t.Programme, c.Lot, readings, c.At.UnixNano(), past)
	if last := t.machine.hand.Load(); last != nil && last.of == of {
		return last.judged, true
	}
	j, err := t.Programme.JudgeHand(c.Lot, c.Readings, c.At, past)
	if err != nil {
		return j, false
	}
	t.machine.hand.Store(&judgedHand{of, j})
	return j, true
}

// judgedHand is what a check by hand lets a lot be, and all that it was worked out of.
type judgedHand struct {
	of     string
	judged programme.HandJudged
}

// mostWorth is the remedy that a check's reminder follows: of one by hand what hands
// found, of any other the one that was advised.
func (t *Filing) mostWorth(c session.Check, best advice.Option) advice.Option {
	if !c.Ungraded() {
		return best
	}
	j, _ := t.JudgedHand(c)
	return j.Advice.Best
}

// HandLot finds the check by hand that the check under way may be of the lot of: the last
// one of the same grower and amount within two weeks, not checked again since.
func (t *Talk) HandLot() (session.Check, bool) {
	draft := t.Draft()
	if draft == nil || draft.Recheck != "" || draft.Corrects != "" || draft.Lot.Grower == "" || draft.Lot.KG == 0 {
		return session.Check{}, false
	}
	checks := t.checksOf(draft.Lot.Grower, mostAlike)
	for i := range checks {
		c := &checks[i]
		alike := c.Lot.Bags == draft.Lot.Bags && c.Lot.KG == draft.Lot.KG && c.Lot.Variety == draft.Lot.Variety
		open := c.State == session.Filed && c.RecheckedBy == "" && t.In.At.Sub(c.At) <= handFor
		if alike && open && c.Readings.ByHand() && !slices.Contains(draft.Sure, otherLot+string(c.Slip)) {
			return *c, true
		}
	}
	return session.Check{}, false
}

// handFor is for how long a full check may be of a lot that was checked by hand.
// Source: assumed.
const handFor = 14 * 24 * time.Hour

// RecheckHand begins a check by hand of the lot of a check; nil when too many checks
// are under way.
func (t *Talk) RecheckHand(c session.Check) *session.Draft {
	d := t.Recheck(c)
	if d != nil {
		d.Readings = grading.Readings{Class: c.Readings.Class}
	}
	return d
}

// handGrade is what stands in the place of a grade for a check by hand, with what a
// test without a meter found of its water.
func (v *Voice) handGrade(c *session.Check) string {
	text := v.Say("hand.none")
	if wet := c.Readings.WetByHand(); wet != "" {
		text += ", " + v.Say("flag."+string(wet))
	}
	return text
}

package screen

import (
	"slices"
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/answer"
	"threshline/session/screen/ask"
	"threshline/session/shorthand"
	"threshline/session/talk"
)

// handTrouble takes counts that cannot be out of a lot that came in a message, and
// says why they cannot be.
func handTrouble(t *talk.Talk, lot *shorthand.Lot) []string {
	h := lot.Readings.Hand
	fault, ok := h.Fault()
	if h == (grading.Hand{}) || !ok {
		return nil
	}
	first := grading.Hand{Grains: h.Grains, Empty: h.Empty, Stones: h.Stones, Green: h.Green}
	if _, bad := first.Fault(); bad {
		first = grading.Hand{}
	}
	lot.Readings.Hand = first
	r := ask.Reader(t)
	return []string{faultText(t, fault, h, r.Example("by_hand"))}
}

// spokeOfHand reports whether a message speaks of a check by hand, even if none of
// its counts can be taken.
func spokeOfHand(lot *shorthand.Lot, problems []shorthand.Problem) bool {
	return lot.Readings.Hand != (grading.Hand{}) || slices.ContainsFunc(problems, func(p shorthand.Problem) bool { return p.Key == "by_hand" })
}

// mergeHand adds counts by hand and the test without a meter to a draft.
func mergeHand(draft *session.Draft, lot *shorthand.Lot) {
	if h := lot.Readings.Hand; h.Made() {
		h.Handfuls = draft.Readings.Hand.Handfuls
		draft.Readings.Hand = h
	}
	for _, test := range []struct {
		n   int
		all []sign
	}{{lot.Bite, bites}, {lot.Salt, salts}} {
		if test.n > 0 && test.n <= len(test.all) && !slices.ContainsFunc(draft.Readings.Flags, grading.Flag.OfWater) { // too wet by one is too wet
			noteWater(&draft.Readings, test.all[test.n-1].says())
			makeSure(draft, wetSure)
		}
	}
}

// handTold is what is said of a check by hand among several lots: what is likely, and
// the remedy.
func handTold(t *talk.Talk, c *session.Check) (rank, string) {
	j, ok := t.JudgedHand(*c)
	if !ok {
		return faulty, t.Say("hand.open")
	}
	remedies, of := answer.HandRemedy(t, &j), fine
	if j.Advice.Best.Remedy != "" {
		of = faulty
	}
	text := strings.Join([]string{answer.HandWet(t, c, &j), answer.LikelyText(t, &j), shortest(remedies), t.Found(c), t.Signs(c)}, " ")
	return of, strings.Join(strings.Fields(text), " ")
}

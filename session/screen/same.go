package screen

import (
	"slices"
	"time"

	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/answer"
	"threshline/session/screen/ask"
	"threshline/session/screen/signs"
	"threshline/session/talk"
)

// sameScreen asks, before a check is filed, whether it is of a lot that nobody may
// eat: mould does not go away because the lot is checked as a new one.
const sameScreen session.ScreenID = "same"

func showSame(t *talk.Talk) talk.Shown {
	c, ok := t.SameLot()
	if !ok {
		if c, ok = t.HandLot(); ok {
			question := t.Say("hand.same", "slip", string(c.Slip), "date", t.Date(c.At), "amount", t.Amount(c.Lot))
			return ask.Says(question, t.Say("same.yes"), t.Say("same.no"))
		}
		return ask.Says(t.Say("unfinished.none"))
	}
	question := t.Say("same.ask", "slip", string(c.Slip), "amount", t.Amount(c.Lot), "date", t.Date(c.At), "what", t.UnfitText(c))
	return ask.Says(question, t.Say("same.yes"), t.Say("same.no"))
}

func takeSame(t *talk.Talk, entry string) talk.Move {
	c, ok := alike(t)
	switch {
	case !ok:
		return talk.Go(nextStep(t))
	case ask.Yes(t, entry):
		t.IsLot(c, true)
	case ask.No(t, entry):
		t.IsLot(c, false)
	default:
		return ask.WrongChoice(t)
	}
	return file(t)
}

// maybeSame reports whether to ask which lot the check under way is of.
func maybeSame(t *talk.Talk) bool {
	_, asked := alike(t)
	return asked
}

// alike is the check that the one under way may be of the lot of: first one with
// signs that make a lot no food, then one by hand, which a full check is held against.
func alike(t *talk.Talk) (session.Check, bool) {
	if c, ok := t.SameLot(); ok {
		return c, true
	}
	return t.HandLot()
}

// twiceScreen asks whether it is the same lot when a report is equal to one
// filed lately: a message that comes twice with two ids then files one check.
const twiceScreen session.ScreenID = "twice"

// sameWithin is how long an equal report counts as a repetition; sureAnother
// says that it is another lot. Source: assumed.
const (
	sameWithin  = 24 * time.Hour
	sureAnother = "another lot"
)

// repeated returns the filed check that has the same readings, bags and kg as
// the check under way; false when it is known to be another lot. A danger is
// filed at once, as often as it is reported.
func repeated(t *talk.Talk) (session.Check, bool) {
	draft := t.Draft()
	if draft == nil || len(draft.Readings.Flags) > 0 || signs.Alive(&draft.Readings) || draft.Recheck != "" || draft.Corrects != "" || slices.Contains(draft.Sure, sureAnother) {
		return session.Check{}, false
	}
	for _, c := range t.MyChecks(talk.MostListed) {
		lot := c.Lot.Grower == draft.Lot.Grower && c.Lot.Bags == draft.Lot.Bags && c.Lot.KG == draft.Lot.KG
		if lot && c.State == session.Filed && c.Recheck == "" && t.In.At.Sub(c.At) <= sameWithin && sameReport(&c.Readings, &draft.Readings) {
			return c, true
		}
	}
	return session.Check{}, false
}

func sentTwice(t *talk.Talk) bool {
	_, again := repeated(t)
	return again
}

// sameReport reports whether all measurements are equal and the first report
// has every sign of the later one. The first may have been completed since.
func sameReport(was, is *grading.Readings) bool {
	for _, f := range grading.Fields() {
		a, one := was.Get(f)
		b, two := is.Get(f)
		if f.Group() != grading.Insects && (one != two || a != b) {
			return false
		}
	}
	return was.Hand == is.Hand && slices.Equal(was.Repeats, is.Repeats) && !slices.ContainsFunc(is.Flags, func(f grading.Flag) bool { return !slices.Contains(was.Flags, f) })
}

func showTwice(t *talk.Talk) talk.Shown {
	c, ok := repeated(t)
	if !ok {
		return ask.Says(t.Say("unfinished.none"))
	}
	return ask.Says(t.Say("twice.ask", "lot", t.LotName(c.Lot), "slip", string(c.Slip)), t.Say("consent.yes"), t.Say("twice.another"))
}

// takeTwice drops the repetition and shows the check, or files it as one of
// another lot.
func takeTwice(t *talk.Talk, entry string) talk.Move {
	c, ok := repeated(t)
	switch {
	case !ok:
		return talk.Home("")
	case ask.Yes(t, entry):
		t.DropDraft()
		t.Memo().Slip = c.Slip
		return talk.Leap(answer.GradeScreen)
	case ask.No(t, entry):
		draft := t.Draft()
		draft.Sure = append(draft.Sure, sureAnother)
		return file(t)
	}
	return ask.WrongChoice(t)
}

package screen

import (
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

// sameScreen asks, before a check is filed, whether it is of a lot that nobody may
// eat: mould does not go away because the lot is checked as a new one.
const sameScreen session.ScreenID = "same"

func same() []talk.Screen {
	return []talk.Screen{{ID: sameScreen, Show: showSame, Take: takeSame, Help: ask.Helpful("help.same")}}
}

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

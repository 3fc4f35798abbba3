package screen

import (
	"slices"

	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

// offersHand reports whether to offer a check by hand: there is nothing to weigh
// with, and nothing was measured yet. It is offered once a check, never assumed.
func offersHand(t *talk.Talk) bool {
	draft := t.Draft()
	if draft == nil || draft.Correcting || draft.Recheck != "" || draft.Corrects != "" || isHand(draft) || toolRead(&draft.Readings) || isSure(draft, offeredSure) {
		return false
	}
	return !t.Person.Kit.Has(session.Scale) || slices.Contains(draft.Skipped, grading.SampleWeight)
}

// offeredFirst reports whether to offer it before anything is asked: to somebody
// who has said of other lots that there is neither a meter nor a scale.
func offeredFirst(t *talk.Talk) bool {
	return offersHand(t) && !t.Person.Kit.Has(session.Meter)
}

func showHandOffer(t *talk.Talk) talk.Shown {
	return ask.Says(t.Say("hand.offer"), t.Say("hand.yes"), t.Say("hand.no"))
}

func takeHandOffer(t *talk.Talk, entry string) talk.Move {
	draft := t.Draft()
	if draft == nil {
		return talk.Home("")
	}
	switch n, rest := ask.Choice(entry); {
	case n == 1 || ask.Yes(t, entry):
		makeSure(draft, handSure)
		return talk.Leap(nextStep(t)) // "back" leads to no step of the full check
	case n == 2 || ask.No(t, entry):
		makeSure(draft, offeredSure)
		if t.In.Kind == session.USSD && !toolRead(&draft.Readings) && len(draft.Skipped) == 0 {
			return talk.GoWith(spearScreen, rest)
		}
		return talk.GoWith(nextStep(t), rest)
	}
	return ask.WrongChoice(t)
}

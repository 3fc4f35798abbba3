package screen

import (
	"slices"

	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/answer"
	"threshline/session/screen/ask"
	"threshline/session/screen/signs"
	"threshline/session/talk"
)

// The screens of a check by hand: what somebody without tools can do.
const (
	handOfferScreen session.ScreenID = "hand-offer"
	handBiteScreen  session.ScreenID = "hand-bite"
	handSaltScreen  session.ScreenID = "hand-salt"
	handCountScreen session.ScreenID = "hand-count"
	handHuskScreen  session.ScreenID = "hand-husk"
	handAllScreen   session.ScreenID = "hand-all"
)

// What a draft's list of confirmed things says of a check by hand.
const (
	handSure    = "by hand"         // the person chose it
	wetSure     = "wetness asked"   // bitten or salted, or neither
	bareSure    = "not husked"      // they cannot
	offeredSure = "by hand offered" // and not taken
)

func isSure(draft *session.Draft, what string) bool { return slices.Contains(draft.Sure, what) }

func makeSure(draft *session.Draft, what string) {
	if !isSure(draft, what) {
		draft.Sure = append(draft.Sure, what)
	}
}

// isHand reports whether a draft is a check by hand. Once a tool has measured
// anything it is a full one.
func isHand(draft *session.Draft) bool {
	return draft != nil && (isSure(draft, handSure) || draft.Readings.ByHand()) && !toolRead(&draft.Readings)
}

// toolRead reports whether a tool of the full check measured anything of a lot; a
// meter's reading may stand beside counts by hand.
func toolRead(r *grading.Readings) bool {
	return slices.ContainsFunc(grading.Fields(), func(f grading.Field) bool { return f.Group() != grading.Insects && f != grading.Moisture && r.Has(f) })
}

// startHand begins a check by hand.
func startHand(t *talk.Talk, rest string) talk.Move {
	if len(t.Dialogue.Drafts) >= talk.MostDrafts {
		return talk.Refuse(t.Say("bags.full"))
	}
	draft := t.NewDraft(session.Lot{})
	makeSure(draft, handSure)
	switch {
	case ask.Agents(t):
		return talk.GoWith(whoseScreen, rest)
	case t.In.Kind == session.SMS && rest != "": // "11 8 75", as in a full check
		beginFor(t, t.Person, "")
		return talk.GoWith(bagsScreen, rest)
	}
	return beginFor(t, t.Person, rest)
}

// handWord reads "hand", by which a check by hand is begun on any screen.
func handWord(t *talk.Talk, text string) bool {
	return t.Hears("accept.hand", text) && slices.Contains(lines(t), menuHand)
}

// handStep is the screen for what a check by hand still lacks; the summary when that
// is nothing, or when something stops the lot. By SMS all counts come in one message.
func handStep(t *talk.Talk) session.ScreenID {
	draft := t.Draft()
	r, sms := &draft.Readings, t.In.Kind == session.SMS
	stopped := handStopped(t)
	switch {
	case draft.Lot.KG == 0 && draft.Lot.Bags == 0 && !sms:
		return bagsScreen
	case sms && !r.Hand.Made() && !stopped:
		return handAllScreen
	case !signsAsked(r) && (!sms || signsOpen(t)):
		return seenScreen
	case smellOpen(draft):
		return smellScreen
	case stopped || sms:
		return sumScreen
	case !isSure(draft, wetSure) && !r.Has(grading.Moisture) && !slices.ContainsFunc(r.Flags, grading.Flag.OfWater):
		return handBiteScreen
	case !r.Hand.Made():
		return handCountScreen
	case r.Hand.Husked == 0 && !isSure(draft, bareSure) && toHusk(&r.Hand) > 0:
		return handHuskScreen
	}
	return sumScreen
}

// handStopped reports whether a sign stops the lot under way: nothing is counted of
// it then.
func handStopped(t *talk.Talk) bool {
	draft := t.Draft()
	if !draft.Readings.Signed() && !signs.Alive(&draft.Readings) {
		return false
	}
	j, err := t.Judge(draft.Lot, draft.Readings, t.In.At)
	return err == nil && len(j.Result.Gates) > 0 && !answer.WetByHand(&j.Result)
}

// handOnward leads to what a check by hand still lacks, and files it when that is
// nothing: the summary would cost an exchange. Whoever mistyped corrects afterwards.
func handOnward(t *talk.Talk, rest string) talk.Move {
	next := nextStep(t)
	if next == sumScreen && !t.Draft().Correcting {
		return file(t)
	}
	return talk.GoWith(next, rest)
}

func showHandBite(t *talk.Talk) talk.Shown {
	shown := ask.Says(t.Say("hand.bite"))
	for _, s := range bites {
		shown.Options = append(shown.Options, t.Say(s.key))
	}
	shown.Options = append(shown.Options, t.Say("hand.salt"), t.Say("hand.untested"))
	return shown
}

// saltKey is the bite screen's number for the test with salt.
const saltKey = 5

func takeHandBite(t *talk.Talk, draft *session.Draft, entry string) talk.Move {
	n, rest := ask.Choice(entry)
	switch {
	case entry == ask.LackKey, t.Hears("accept.none", entry):
		makeSure(draft, wetSure)
		return handOnward(t, "")
	case n == saltKey:
		return talk.GoWith(handSaltScreen, rest)
	}
	return wetFound(t, draft, bites, n, rest)
}

func takeHandSalt(t *talk.Talk, draft *session.Draft, entry string) talk.Move {
	n, rest := ask.Choice(entry)
	return wetFound(t, draft, salts, n, rest)
}

// wetFound writes down what a test without a meter showed, and goes on.
func wetFound(t *talk.Talk, draft *session.Draft, all []sign, n int, rest string) talk.Move {
	if n < 1 || n > len(all) {
		return ask.WrongChoice(t)
	}
	noteWater(&draft.Readings, all[n-1].says())
	makeSure(draft, wetSure)
	t.Touch(grading.NoField)
	return handOnward(t, rest).Saying(signs.Noted(t, &draft.Readings))
}

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

func takeHandOffer(t *talk.Talk, draft *session.Draft, entry string) talk.Move {
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

package screen

import (
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

const withdrawScreen session.ScreenID = "withdraw"

func showChange(t *talk.Talk) talk.Shown {
	c, ok := t.Check(t.Memo().Slip)
	shown := ask.Says(t.Say("change.title", "slip", string(t.Memo().Slip)))
	if ok && t.Correctable(c) {
		shown.Options = append(shown.Options, t.Say("change.correct"), t.Say("change.withdraw"))
	}
	switch {
	case !ok || c.State != session.Filed:
	case c.Readings.ByHand():
		shown.Options = append(shown.Options, t.Say("hand.again"), t.Say("hand.tools"))
	default:
		shown.Options = append(shown.Options, t.Say("change.recheck"))
	}
	if len(shown.Options) == 0 {
		shown.Options = []string{t.Say("change.late")}
	}
	return shown
}

func takeChange(t *talk.Talk, entry string) talk.Move {
	c, ok := t.Check(t.Memo().Slip)
	n, _ := ask.Choice(entry)
	switch {
	case !ok || c.State != session.Filed || n < 1 || n > 4 || n == 4 && !c.Readings.ByHand():
		return ask.WrongChoice(t)
	case n < 3 && !t.Correctable(c):
		return talk.Refuse(t.Say("change.late"))
	case n == 1:
		draft := t.Correct(c)
		if draft == nil {
			return talk.Refuse(t.Say("bags.full"))
		}
		if c.Readings.ByHand() { // what was left out is not asked again
			draft.Sure = append(draft.Sure, handSure, wetSure, bareSure)
		}
		return talk.Go(sumScreen)
	case n == 2:
		return talk.Go(withdrawScreen)
	}
	if n == 3 && c.Readings.ByHand() {
		draft := t.RecheckHand(c)
		if draft == nil {
			return talk.Refuse(t.Say("bags.full"))
		}
		makeSure(draft, handSure)
		return talk.Go(nextStep(t))
	}
	if t.Recheck(c) == nil {
		return talk.Refuse(t.Say("bags.full"))
	}
	return talk.Go(nextStep(t))
}

func showWithdraw(t *talk.Talk) talk.Shown {
	return ask.Says(t.Say("change.sure", "slip", string(t.Memo().Slip)), t.Say("change.yes"))
}

func takeWithdraw(t *talk.Talk, entry string) talk.Move {
	c, ok := t.Check(t.Memo().Slip)
	if !ask.Yes(t, entry) {
		return ask.WrongChoice(t)
	}
	if !ok || !t.Correctable(c) {
		return talk.Home(t.Say("change.late"))
	}
	t.Withdraw(c)
	return talk.Home(t.Say("change.withdrawn", "slip", string(c.Slip)))
}

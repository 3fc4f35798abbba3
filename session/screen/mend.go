package screen

import (
	"threshline/session"
	"threshline/session/talk"
)

const (
	mendScreen     session.ScreenID = "mend"
	withdrawScreen session.ScreenID = "withdraw"
)

// mend are the screens that change a filed check, or check its lot again.
func mend() []talk.Screen {
	return []talk.Screen{
		{ID: mendScreen, Show: showMend, Take: takeMend, Help: helpful("help.grade")},
		{ID: withdrawScreen, Show: showWithdraw, Take: takeWithdraw},
	}
}

func showMend(t *talk.Talk) talk.Shown {
	c, ok := t.Check(t.Memo().Slip)
	shown := says(t.Say("mend.title", "slip", string(t.Memo().Slip)))
	if ok && t.Mendable(c) {
		shown.Options = append(shown.Options, t.Say("mend.correct"), t.Say("mend.withdraw"))
	}
	if ok && c.State == session.Filed {
		shown.Options = append(shown.Options, t.Say("mend.recheck"))
	}
	if len(shown.Options) == 0 {
		shown.Options = []string{t.Say("mend.late")}
	}
	return shown
}

func takeMend(t *talk.Talk, entry string) talk.Move {
	c, ok := t.Check(t.Memo().Slip)
	n, _ := choice(entry)
	switch {
	case !ok || c.State != session.Filed || n < 1 || n > 3:
		return wrongChoice(t)
	case n < 3 && !t.Mendable(c):
		return talk.Refuse(t.Say("mend.late"))
	case n == 1:
		if t.Correct(c) == nil {
			return talk.Refuse(t.Say("bags.full"))
		}
		return talk.Go(sumScreen)
	case n == 2:
		return talk.Go(withdrawScreen)
	}
	if t.Recheck(c) == nil {
		return talk.Refuse(t.Say("bags.full"))
	}
	return talk.Go(nextStep(t))
}

func showWithdraw(t *talk.Talk) talk.Shown {
	return says(t.Say("mend.sure", "slip", string(t.Memo().Slip)), t.Say("mend.yes"))
}

func takeWithdraw(t *talk.Talk, entry string) talk.Move {
	c, ok := t.Check(t.Memo().Slip)
	if !yes(t, entry) {
		return wrongChoice(t)
	}
	if !ok || !t.Mendable(c) {
		return talk.Home(t.Say("mend.late"))
	}
	t.Withdraw(c)
	return talk.Home(t.Say("mend.withdrawn", "slip", string(c.Slip)))
}

package answer

import (
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

// MineScreen lists the person's own checks.
const MineScreen session.ScreenID = "mine"

// Mine are the screens of a person's own checks.
func Mine() []talk.Screen {
	return []talk.Screen{{ID: MineScreen, Show: showMine, Take: takeMine, Help: ask.Helpful("help.slip")}}
}

func showMine(t *talk.Talk) talk.Shown {
	checks := t.MyChecks(talk.MostListed)
	if len(checks) == 0 {
		return ask.Says(t.Say("mine.none"))
	}
	shown := ask.Says(t.Say("mine.title"))
	for i, c := range checks {
		grade := gradeName(t, c)
		if c.Readings.ByHand() {
			grade = t.Say("hand.mine")
		}
		if len(programme.Unfit(&c)) > 0 {
			grade = lowered(t.GradeWord(grading.NotAccepted))
		}
		if c.State != session.Filed {
			grade = t.Say("mine." + string(c.State))
		}
		shown.Options = append(shown.Options, t.Say("mine.line", "number", i+1, "slip", string(c.Slip), "grade", grade, "date", t.Date(c.At)))
	}
	if sellable(t, checks[0]) {
		shown.Options = append(shown.Options, t.Say("mine.sell", "number", sellKey, "slip", string(checks[0].Slip)))
	}
	return shown
}

func takeMine(t *talk.Talk, entry string) talk.Move {
	n, rest := ask.Choice(entry)
	checks := t.MyChecks(talk.MostListed)
	if len(checks) == 0 {
		return ask.Nothing(t, entry)
	}
	if n == sellKey && sellable(t, checks[0]) {
		t.Memo().Slip = checks[0].Slip
		return talk.Go(waysScreen)
	}
	if n < 1 || n > len(checks) {
		return ask.WrongChoice(t)
	}
	t.Memo().Slip = checks[n-1].Slip
	return talk.GoWith(GradeScreen, rest)
}

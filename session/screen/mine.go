package screen

import (
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/talk"
)

const mineScreen session.ScreenID = "mine"

// mostMine is how many checks are listed: one digit each.
const mostMine = 8

func mine() []talk.Screen {
	return []talk.Screen{{ID: mineScreen, Show: showMine, Take: takeMine, Help: helpful("help.slip")}}
}

func showMine(t *talk.Talk) talk.Shown {
	checks := t.MyChecks(mostMine)
	if len(checks) == 0 {
		return says(t.Say("mine.none"))
	}
	shown := says(t.Say("mine.title"))
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
	n, rest := choice(entry)
	checks := t.MyChecks(mostMine)
	if len(checks) == 0 {
		return takeNothing(t, entry)
	}
	if n == sellKey && sellable(t, checks[0]) {
		t.Memo().Slip = checks[0].Slip
		return talk.Go(waysScreen)
	}
	if n < 1 || n > len(checks) {
		return wrongChoice(t)
	}
	t.Memo().Slip = checks[n-1].Slip
	return talk.GoWith(gradeScreen, rest)
}

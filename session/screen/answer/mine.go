package answer

import (
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/screen/ask"
	"threshline/session/screen/signs"
	"threshline/session/talk"
)

// MineScreen lists the person's own checks.
const MineScreen session.ScreenID = "mine"

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

// showWeek says the last seven days of a coordinator's district.
func showWeek(t *talk.Talk) talk.Shown {
	if t.Person.Role != session.Coordinator {
		return ask.Says(t.Say("week.wait"))
	}
	return ask.Says(strings.Join(t.WeekLines(), "\n"))
}

func showSlip(t *talk.Talk) talk.Shown {
	if found := t.Memo().Looked; found != "" {
		return ask.Says(found)
	}
	return ask.Says(t.Say("slip.ask"))
}

func takeSlip(t *talk.Talk, entry string) talk.Move {
	slip, well := session.ParseSlip(entry)
	caution := ""
	if f, heard := signs.Heard(t, entry); heard && !well {
		caution = Caution(t, f.Flags)
	}
	switch {
	case caution != "": // a danger is no wrong slip, though it looks like one
		t.Memo().Looked = caution
	case well:
		t.Memo().Looked = ask.Joined(t.LookUp(entry), sinceForMine(t, slip))
	default:
		t.Memo().Looked = t.LookUp(entry)
	}
	return talk.Stay("")
}

// sinceForMine is what changed since the check before, for somebody whom the
// re-check concerns: a buyer is told the grade alone.
func sinceForMine(t *talk.Talk, slip session.Slip) string {
	if t.Slow() > 0 {
		return ""
	}
	c, ok := t.Check(slip)
	s, again := t.Since(c)
	_, unsound := t.Unsound(c) // which everybody was told
	_, once := t.HeldText(c)   // likewise
	switch {
	case !ok || !again || unsound || once != "" || !t.Concerns(c):
		return ""
	case c.Pooled(): // which everybody was told
		return changeText(t, &s, c)
	}
	return sinceText(t, c)
}

package screen

import (
	"strings"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/talk"
)

const (
	lookScreen      session.ScreenID = "look"
	lookSmellScreen session.ScreenID = "look-smell"
)

// look are the screens that ask, after a check was filed, for the signs that
// nobody looked for. The figures stay, and nothing is praised yet.
func look() []talk.Screen {
	return []talk.Screen{
		{ID: lookScreen, Show: showLook, Take: takeLook, Help: helpful("help.seen"), Waits: signsStillAwaited},
		{ID: lookSmellScreen, Show: showSmell, Take: takeLookSmell, Help: helpful("help.seen")},
	}
}

// shownOf is the screen that a check just filed is shown on.
func shownOf(c *session.Check) talk.Move {
	if said := c.Said(); said.Unlooked() {
		return talk.Leap(lookScreen)
	}
	return talk.Leap(gradeScreen)
}

// showLook says the figures and the slip, and asks: the fullest form that fits.
func showLook(t *talk.Talk) talk.Shown {
	c, j, ok := about(t)
	if !ok {
		return says(t.Say("mine.none"))
	}
	top := whoseLine(t, c) + gradeLine(t, c)
	held, caution := heldBy(t, c, &j), safetyLine(t, &j.Advice)
	if len(j.Result.Gates) > 0 && !wetByHand(&j.Result) { // a danger stands first, and in every form
		top, held = whoseLine(t, c)+t.Say("grade.gated", "grade", t.GradeName(c.Grade, c.Rank, c.Of, c.Complete), "what", signText(t, &c.Readings)), []string{""}
	}
	slip, missing := t.Say("grade.slip", "slip", string(c.Slip)), missingLine(t, c)
	remedies := remedyLines(t, &j.Advice)
	if j.Advice.Best.Remedy == advice.LookFirst { // which is what is asked
		remedies = []string{""}
	}
	why, remedy := held[len(held)-1], remedies[len(remedies)-1]
	ask, short := t.Say("look.ask"), t.Say("look.short")
	foot := "\n" + t.Say("foot.tiny")
	if t.In.Kind == session.SMS {
		foot = ""
	}
	lead := t.Memo().Lead // what was wrong with an entry: the question stays on its page
	if lead != "" {
		lead += "\n"
	}
	first := joined(top, caution, remedy, missing, slip, short) // what to do comes before why
	if remedy == "" {
		first = joined(top, why, caution, missing, slip, ask)
	}
	for _, text := range []string{
		joined(top, held[0], caution, remedies[0], missing, slip, ask), joined(top, why, caution, remedy, missing, slip, short), first,
		joined(top, why, caution, missing, slip, ask), joined(top, why, caution, remedy, slip, short), joined(top, why, caution, slip, short), joined(top, caution, slip, short),
	} {
		if t.Fits(lead + text + foot) {
			return stopping(&j, says(withLot(t, c, text, lead)))
		}
	}
	return stopping(&j, says(joined(top, caution, slip, short)))
}

// takeLook completes the check under the same slip.
func takeLook(t *talk.Talk, entry string) talk.Move {
	c, ok := t.Check(t.Memo().Slip)
	if !ok {
		return talk.Home("")
	}
	f, ok := signsOrDangers(t, entry)
	if !ok {
		return talk.Refuse(t.Say("wrong.choice"))
	}
	if t.Late() && mayBeALine(&f, entry) {
		return talk.Stay("") // without a line more, so that the question stays on its page
	}
	if _, err := t.Complete(c, f.join); err != nil {
		return talk.Refuse(t.Say("wrong.grade"))
	}
	for _, flag := range f.flags {
		if flag == grading.Musty {
			return talk.Go(lookSmellScreen)
		}
	}
	return talk.Leap(gradeScreen)
}

// signsStillAwaited reports whether an entry, however late, may say what was seen
// and smelt of a lot that nobody has looked at yet.
func signsStillAwaited(t *talk.Talk, entry string) bool {
	c, ok := t.Check(t.Memo().Slip)
	if said := c.Said(); !ok || c.State != session.Filed || !said.Unlooked() {
		return false
	}
	_, ok = signsOrDangers(t, strings.TrimSpace(entry))
	return ok
}

func signsOrDangers(t *talk.Talk, entry string) (f found, ok bool) {
	if f, ok = signsIn(t, entry); !ok {
		f, ok = dangersIn(t, entry)
	}
	return f, ok
}

// mayBeALine reports whether an entry that comes late may be meant for the menu, "4"
// or "2 3", or for another message, "OK": it is asked again.
func mayBeALine(f *found, entry string) bool {
	_, plain := keyed(entry)
	return len(f.flags) == 0 && !f.insects || plain && (len(entry) == 1 || strings.Contains(entry, " "))
}

// takeLookSmell asks what kind of bad smell it is; until then it is filed as
// musty.
func takeLookSmell(t *talk.Talk, entry string) talk.Move {
	c, ok := t.Check(t.Memo().Slip)
	if !ok {
		return talk.Home("")
	}
	flags, ok := smellIn(t, entry)
	if !ok {
		return wrongChoice(t)
	}
	_, err := t.Complete(c, func(r *grading.Readings) {
		var kept []grading.Flag
		for _, f := range r.Flags {
			if f != grading.Musty {
				kept = append(kept, f)
			}
		}
		r.Flags = append(kept, flags...)
	})
	if err != nil {
		return talk.Refuse(t.Say("wrong.grade"))
	}
	return talk.Leap(gradeScreen)
}

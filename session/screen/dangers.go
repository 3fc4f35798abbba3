package screen

import (
	"slices"
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/shorthand"
	"threshline/session/talk"
)

// dangersIn reads the signs of a sentence, "it is mouldy and smells of fuel", by the
// words of the shorthand. Beside a word that is not understood only what makes a lot
// no food is taken: of anything else it is asked again. Nothing of it is "all good".
func dangersIn(t *talk.Talk, entry string) (f found, ok bool) {
	if strings.ContainsAny(session.PlainDigits(entry), "0123456789") {
		return f, false
	}
	message, problems := shortOf(t).reader(t).Parse(entry)
	for _, lot := range message.Lots {
		for _, flag := range lot.Readings.Flags {
			f.add(flag)
		}
		weevils, _ := lot.Readings.Get(grading.LiveWeevils)
		others, _ := lot.Readings.Get(grading.LiveOthers)
		f.insects = f.insects || weevils+others > 0
	}
	unsure := slices.ContainsFunc(problems, func(p shorthand.Problem) bool { return p.Trouble == shorthand.UnknownWord })
	return f, slices.ContainsFunc(f.flags, grading.Flag.Unfit) || !unsure && (len(f.flags) > 0 || f.insects)
}

// afterwards adds signs to the check just filed, while it is shown to who sent it and
// can be corrected: a danger that comes as an afterthought is not refused beside a
// praise. Otherwise the move stands.
func afterwards(t *talk.Talk, f *found, otherwise talk.Move) talk.Move {
	shown := []session.ScreenID{gradeScreen, todoScreen, whyScreen, waysScreen}
	c, ok := t.Check(t.Memo().Slip)
	if !ok || !slices.Contains(shown, t.Dialogue.Screen) || !t.Correctable(c) || c.RecheckedBy != "" {
		return otherwise
	}
	if _, err := t.Complete(c, f.tell); err != nil {
		return otherwise
	}
	return talk.Leap(gradeScreen)
}

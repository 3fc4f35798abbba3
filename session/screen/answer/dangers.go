package answer

import (
	"slices"

	"threshline/session"
	"threshline/session/screen/signs"
	"threshline/session/talk"
)

// Afterwards adds signs to the check just filed, while it is shown to who sent it and
// can be corrected: a danger that comes as an afterthought is not refused beside a
// praise. Otherwise the move stands.
func Afterwards(t *talk.Talk, f *signs.Found, otherwise talk.Move) talk.Move {
	shown := []session.ScreenID{GradeScreen, todoScreen, whyScreen, waysScreen}
	c, ok := t.Check(t.Memo().Slip)
	if !ok || !slices.Contains(shown, t.Dialogue.Screen) || !t.Correctable(c) || c.RecheckedBy != "" {
		return otherwise
	}
	if _, err := t.Complete(c, f.Tell); err != nil {
		return otherwise
	}
	return talk.Leap(GradeScreen)
}

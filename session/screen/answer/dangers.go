package answer

import (
	"slices"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/signs"
	"threshline/session/talk"
)

// Afterwards adds signs to the check just filed, while it is shown to who sent it and
// can be corrected: a danger that comes as an afterthought is not refused beside a
// praise. Of a lot that we do not know it says the caution; otherwise the move stands.
func Afterwards(t *talk.Talk, f *signs.Found, otherwise talk.Move) talk.Move {
	shown := []session.ScreenID{GradeScreen, todoScreen, whyScreen, waysScreen}
	c, ok := t.Check(t.Memo().Slip)
	if !ok || !slices.Contains(shown, t.Dialogue.Screen) || !t.Correctable(c) || c.RecheckedBy != "" {
		return warn(t, f, otherwise)
	}
	if _, err := t.Complete(c, f.Tell); err != nil {
		return warn(t, f, otherwise)
	}
	return talk.Leap(GradeScreen)
}

// warn answers a sign of what is no food, said of no lot that we know, with its
// caution.
func warn(t *talk.Talk, f *signs.Found, otherwise talk.Move) talk.Move {
	if caution := Caution(t, f.Flags); caution != "" {
		return talk.Stay(caution)
	}
	return otherwise
}

// Caution is what is said at once of the first sign of what is no food; "" if none.
func Caution(t *talk.Talk, flags []grading.Flag) string {
	for _, flag := range flags {
		if flag.Unfit() {
			return t.Say("caution." + string(cautionOf(flag)))
		}
	}
	return ""
}

func cautionOf(f grading.Flag) advice.CautionID {
	switch f {
	case grading.TreatedSeed:
		return advice.NotFood
	case grading.OffOdour:
		return advice.Tainted
	}
	return advice.NotEaten
}

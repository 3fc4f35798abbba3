package answer

import (
	"cmp"
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/screen/signs"
	"threshline/session/talk"
)

// Lookup answers a slip for anybody.
func Lookup() []talk.Screen {
	return []talk.Screen{{ID: talk.SlipScreen, Show: showSlip, Take: takeSlip, Help: ask.Helpful("help.slip"), Free: true}}
}

func showSlip(t *talk.Talk) talk.Shown {
	if found := t.Memo().Looked; found != "" {
		return ask.Says(found)
	}
	return ask.Says(t.Say("slip.ask"))
}

func takeSlip(t *talk.Talk, entry string) talk.Move {
	found := t.LookUp(entry)
	if slip, well := session.ParseSlip(entry); well {
		found = ask.Joined(found, sinceForMine(t, slip))
	} else if f, heard := signs.Heard(t, entry); heard {
		found = cmp.Or(Caution(t, f.Flags), found)
	}
	t.Memo().Looked = found
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

package answer

import (
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

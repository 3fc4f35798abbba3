package screen

import "threshline/session"

// memoFoundSlip is what the last slip gave.
const memoFoundSlip = "looked"

// lookup answers a slip for anybody.
func lookup() []session.Screen {
	return []session.Screen{{ID: session.SlipScreen, Show: showSlip, Take: takeSlip, Help: helpful("help.slip"), Free: true}}
}

func showSlip(t *session.Talk) session.Shown {
	if found := t.Memo(memoFoundSlip); found != "" {
		return says(found)
	}
	return says(t.Say("slip.ask"))
}

func takeSlip(t *session.Talk, entry string) session.Move {
	t.Remember(memoFoundSlip, t.LookUp(entry))
	return session.Stay("")
}

package screen

import "threshline/session"

const slipScreen session.ScreenID = "slip"

// lookup answers a slip for anybody.
func lookup() []session.Screen {
	return []session.Screen{{ID: slipScreen, Show: showSlip, Take: takeSlip, Help: helpful("help.slip"), Free: true}}
}

func showSlip(t *session.Talk) session.Shown { return says(t.Say("slip.ask")) }

func takeSlip(t *session.Talk, entry string) session.Move { return session.Stay(t.LookUp(entry)) }

package screen

import "threshline/session"

// help is the screen of "?": how to do by hand what the screen before asks.
func help() []session.Screen {
	return []session.Screen{
		{ID: session.HowScreen, Open: true, Show: showHow, Take: takeHow},
		{ID: session.PatternScreen, Show: showPattern, Take: takeNothing},
	}
}

func showHow(t *session.Talk) session.Shown { return says(t.Say(t.HelpKey())) }

// takeHow lets an answer be sent from the help itself: it is handed to the
// screen that the help was asked on.
func takeHow(_ *session.Talk, entry string) session.Move { return session.BackWith(entry) }

// showPattern teaches the whole check in one message.
func showPattern(t *session.Talk) session.Shown {
	r := short{}.reader(t)
	needs := t.Programme.Standard.Needs()
	return says(t.Say("help.sms", "pattern", r.Pattern(needs), "legend", r.Legend(needs)))
}

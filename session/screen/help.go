package screen

import (
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

func showHow(t *talk.Talk) talk.Shown {
	text := t.Say(t.HelpKey())
	if t.HelpKey() == spearHelp {
		text += " " + planText(t)
	}
	return ask.Says(text)
}

// takeHow lets a person answer from the help screen: the answer goes to the
// screen on which they asked for help.
func takeHow(_ *talk.Talk, entry string) talk.Move { return talk.BackWith(entry) }

// showPattern teaches the whole check in one message.
func showPattern(t *talk.Talk) talk.Shown {
	r := ask.Reader(t)
	needs := t.Programme.Standard.Needs()
	return ask.Says(ask.Joined(t.Say("help.sms", "pattern", r.Pattern(needs), "legend", r.Legend(needs)), t.Say("hand.pattern", "like", r.Example("by_hand"))))
}

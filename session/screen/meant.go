package screen

import (
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

func showMeant(t *talk.Talk) talk.Shown {
	return ask.Says(t.Memo().Question, t.Say("consent.yes"), t.Say("consent.no"))
}

// takeMeant goes on with the one or the other. Anything but a yes or a no is the
// right entry itself.
func takeMeant(t *talk.Talk, entry string) talk.Move {
	m := t.Memo()
	t.Sure = true
	switch {
	case ask.Yes(t, entry):
		return talk.Instead(m.MeantAt, m.Meant)
	case ask.No(t, entry):
		return talk.Instead(m.MeantAt, m.Otherwise)
	case ask.Several(entry) || measured(entry) || noChoice(entry):
		t.Sure = false
		return talk.Instead(m.MeantAt, entry)
	}
	return ask.WrongChoice(t)
}

// noChoice reports whether an entry is a single number that is not a choice.
func noChoice(entry string) bool {
	n, _ := ask.Choice(entry)
	return n > 2
}

// runTogether asks about counts typed without a space between them, "012": as many
// digits as counts, that cannot be one number.
func runTogether(t *talk.Talk, still []grading.Field, entry string) (talk.Move, bool) {
	digits := session.PlainDigits(strings.TrimSpace(entry))
	if len(still) < 2 || len(digits) != len(still) || strings.Trim(digits, "0123456789") != "" {
		return talk.Move{}, false
	}
	for _, f := range still {
		if f.Kind() != grading.CountField {
			return talk.Move{}, false
		}
	}
	if len(digits) < 3 && digits[0] != '0' {
		return talk.Move{}, false
	}
	apart := strings.Join(strings.Split(digits, ""), " ")
	return ask.Back(t, apart, apart, ""), true
}

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

package answer

import (
	"strings"

	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

// Week is the screen of the week's figures.
func Week() []talk.Screen {
	return []talk.Screen{{ID: talk.WeekScreen, Show: showWeek, Take: ask.Nothing, Help: ask.Helpful("help.week")}}
}

// showWeek says the last seven days of a coordinator's district.
func showWeek(t *talk.Talk) talk.Shown {
	if t.Person.Role != session.Coordinator {
		return ask.Says(t.Say("week.wait"))
	}
	return ask.Says(strings.Join(t.WeekLines(), "\n"))
}

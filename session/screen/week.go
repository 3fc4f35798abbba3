package screen

import (
	"strings"

	"threshline/session"
	"threshline/session/talk"
)

func week() []talk.Screen {
	return []talk.Screen{{ID: talk.WeekScreen, Show: showWeek, Take: takeNothing, Help: helpful("help.week")}}
}

// showWeek says the last seven days of a coordinator's district.
func showWeek(t *talk.Talk) talk.Shown {
	if t.Person.Role != session.Coordinator {
		return says(t.Say("week.wait"))
	}
	return says(strings.Join(t.WeekLines(), "\n"))
}

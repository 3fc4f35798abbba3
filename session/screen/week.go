package screen

import (
	"strings"

	"threshline/session"
)

func week() []session.Screen {
	return []session.Screen{{ID: session.WeekScreen, Show: showWeek, Take: takeNothing, Help: helpful("help.week")}}
}

// showWeek says the last seven days of a coordinator's district.
func showWeek(t *session.Talk) session.Shown {
	if t.Person.Role != session.Coordinator {
		return says(t.Say("week.wait"))
	}
	return says(strings.Join(t.WeekLines(), "\n"))
}

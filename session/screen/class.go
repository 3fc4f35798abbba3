package screen

import (
	"strconv"
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

// classOf is the column of the standard that the lot is graded in.
func classOf(t *talk.Talk, r *grading.Readings) string {
	class, err := t.Programme.Standard.ClassOf(r)
	if err != nil {
		return t.Say("line.gap")
	}
	return class
}

// className is the catalogue's word for a class, or the standard's own.
func className(t *talk.Talk, class string) string {
	if key := "class." + class; t.Knows(key) {
		return t.Say(key)
	}
	return strings.ReplaceAll(class, "_", " ")
}

// showClasses lists the classes of a standard that has several. Nobody is
// asked for one: the summary shows the programme's usual one, which can be changed.
func showClasses(t *talk.Talk) talk.Shown {
	var options []string
	for i, class := range t.Programme.Standard.Classes {
		options = append(options, strconv.Itoa(ask.ListKey(i))+" "+className(t, class))
	}
	return ask.Says(t.Say("class.ask"), options...)
}

func takeClass(t *talk.Talk, draft *session.Draft, entry string) talk.Move {
	classes := t.Programme.Standard.Classes
	n, _ := ask.Choice(entry)
	place := ask.PlaceOf(n, len(classes))
	if place < 0 {
		return ask.WrongChoice(t)
	}
	draft.Readings.Class = classes[place]
	return talk.Go(nextStep(t))
}

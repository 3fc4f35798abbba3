package screen

import (
	"strings"

	"threshline/grading"
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
		options = append(options, itoa(listKey(i))+" "+className(t, class))
	}
	return says(t.Say("class.ask"), options...)
}

func takeClass(t *talk.Talk, entry string) talk.Move {
	classes := t.Programme.Standard.Classes
	n, _ := choice(entry)
	draft := t.Draft()
	switch {
	case draft == nil:
		return talk.Home("")
	case placeOf(n, len(classes)) < 0:
		return wrongChoice(t)
	}
	draft.Readings.Class = classes[placeOf(n, len(classes))]
	return talk.Go(nextStep(t))
}

package screen

import (
	"slices"

	"threshline/grading"
	"threshline/session/talk"
)

// firstDoubt is the first thing about the readings that physics speaks against
// and the person has not stood by.
func firstDoubt(t *talk.Talk) (grading.Doubt, bool) {
	draft := t.Draft()
	if draft == nil {
		return grading.Doubt{}, false
	}
	for _, d := range grading.Doubts(t.Programme.Standard, draft.Readings) {
		if d.Blocks || !slices.Contains(draft.Sure, sureOf(d)) {
			return d, true
		}
	}
	return grading.Doubt{}, false
}

func doubtful(t *talk.Talk) bool {
	_, doubted := firstDoubt(t)
	return doubted
}

// sureOf names a doubt with its value: a new value is doubted anew.
func sureOf(d grading.Doubt) string { return string(d.ID) + " " + d.Value.String() }

func showDoubt(t *talk.Talk) talk.Shown {
	d, ok := firstDoubt(t)
	if !ok {
		return says(t.Say("sum.title"), t.Say("doubt.right"))
	}
	text := t.Say("doubt."+string(d.ID), "value", t.Number(d.Value.Round(1)), "low", t.Number(d.Low), "high", t.Number(d.High))
	if d.Blocks {
		return says(text, t.Say("doubt.again"))
	}
	return says(text, t.Say("doubt.right"), t.Say("doubt.again"))
}

func takeDoubt(t *talk.Talk, entry string) talk.Move {
	draft := t.Draft()
	if draft == nil {
		return talk.Home("")
	}
	d, ok := firstDoubt(t)
	n, _ := choice(entry)
	switch {
	case !ok:
		return talk.Go(nextStep(t))
	case n == 1 && !d.Blocks:
		draft.Sure = append(draft.Sure, sureOf(d))
		if doubtful(t) {
			return talk.Stay("")
		}
		return talk.Go(nextStep(t))
	case n == 2:
		return measureAgain(t, d)
	case measured(entry):
		move := measureAgain(t, d)
		return talk.GoWith(move.To(), entry)
	}
	return wrongChoice(t)
}

// measured tells the new readings themselves from a choice.
func measured(entry string) bool {
	numbers, why := talk.ReadNumbers(entry)
	return why == "" && (len(numbers) > 1 || numbers[0].Value%whole != 0)
}

// measureAgain forgets what is to be measured again and asks for it.
func measureAgain(t *talk.Talk, d grading.Doubt) talk.Move {
	draft := t.Draft()
	field := d.Again
	if field == grading.NoField && len(d.Fields) > 0 {
		field = d.Fields[0]
	}
	draft.Readings.Unset(field)
	for _, g := range groups(t) {
		if slices.Contains(g.fields, field) {
			return talk.Go(g.id)
		}
	}
	if field == grading.Counted { // the total is sent with the counts
		for _, f := range panFields {
			draft.Readings.Unset(f)
		}
		return talk.Go(nextStep(t))
	}
	return talk.Go(nextStep(t))
}

package screen

import (
	"slices"

	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

// firstDoubt returns the first reading that physics makes unlikely and that the
// person has not confirmed.
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

// sureOf names a doubt with its value: a new value is asked about again.
func sureOf(d grading.Doubt) string { return string(d.ID) + " " + d.Value.String() }

func showDoubt(t *talk.Talk) talk.Shown {
	d, ok := firstDoubt(t)
	if !ok {
		return ask.Says(t.Say("sum.title"), t.Say("doubt.right"))
	}
	text := absurd(t, &d) + t.Say("doubt."+string(d.ID), "value", t.Number(d.Value.Round(1)), "low", t.Number(d.Low), "high", t.Number(d.High))
	if d.Blocks {
		return ask.Says(text, t.Say("doubt.again"))
	}
	return ask.Says(text, t.Say("doubt.right"), t.Say("doubt.again"))
}

func takeDoubt(t *talk.Talk, draft *session.Draft, entry string) talk.Move {
	d, ok := firstDoubt(t)
	n, _ := ask.Choice(entry)
	switch {
	case !ok:
		return talk.Instead(nextStep(t), "")
	case n == 1 && !d.Blocks:
		draft.Sure = append(draft.Sure, sureOf(d))
		if doubtful(t) {
			return talk.Stay("")
		}
		return talk.Instead(nextStep(t), "")
	case n == 2:
		return talk.Instead(measureAgain(t, &d), "")
	case measured(entry):
		return talk.Instead(measureAgain(t, &d), entry)
	}
	return ask.WrongChoice(t)
}

// measured tells the new readings themselves from a choice.
func measured(entry string) bool {
	numbers, why := talk.ReadNumbers(entry)
	return why == "" && (len(numbers) > 1 || numbers[0].Value%ask.Whole != 0)
}

// measureAgain deletes the readings to be measured again and returns the screen
// that asks for them. Readings that were sent together are asked together: only
// the person can see which one is wrong.
func measureAgain(t *talk.Talk, d *grading.Doubt) session.ScreenID {
	draft := t.Draft()
	field := d.Again
	if field == grading.NoField && len(d.Fields) > 0 {
		field = d.Fields[0]
	}
	with := []grading.Field{field}
	for _, f := range d.Fields {
		if d.ID == grading.PartsOverSample || slices.Contains(panFields, f) || onOneScreen(f, field) {
			with = append(with, f)
		}
	}
	if field == grading.Counted { // the total is sent with the counts
		with = append(with, panFields...)
	}
	if slices.ContainsFunc(with, func(f grading.Field) bool { return slices.Contains(panFields, f) }) {
		with = append(with, grading.Counted)
	}
	for _, f := range with {
		draft.Readings.Unset(f)
	}
	for _, g := range groups(t) {
		if slices.ContainsFunc(with, func(f grading.Field) bool { return slices.Contains(g.fields, f) }) {
			return g.id
		}
	}
	return nextStep(t)
}

// onOneScreen reports whether two readings are taken on one screen.
func onOneScreen(a, b grading.Field) bool {
	return slices.ContainsFunc(ussdGroups, func(g group) bool { return slices.Contains(g.fields, a) && slices.Contains(g.fields, b) })
}

// absurd names the largest of several parts whose sum is too much, so that the
// person sees at once which one was mistyped.
func absurd(t *talk.Talk, d *grading.Doubt) string {
	if d.ID != grading.PartsOverSample && d.ID != grading.DirtHigh && d.ID != grading.FaultsOver {
		return ""
	}
	var most grading.Field
	var value grading.Decimal
	whole, r := d.Fields[len(d.Fields)-1], &t.Draft().Readings
	for _, f := range d.Fields[:len(d.Fields)-1] {
		if v, ok := r.Get(f); ok && v > value {
			most, value = f, v
		}
	}
	of, _ := r.Get(whole)
	return t.Say("doubt.part", "what", t.Say("field."+most.String()), "value", t.Number(value), "whole", t.Number(of)) + " "
}

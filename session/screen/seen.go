package screen

import (
	"slices"
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/screen/signs"
	"threshline/session/talk"
)

const (
	seenScreen    session.ScreenID = "seen"
	smellScreen   session.ScreenID = "smell"
	insectsScreen session.ScreenID = "insects"
)

func showSeen(t *talk.Talk) talk.Shown {
	options := []string{t.Say("seen.none")}
	for _, f := range signs.Flags {
		options = append(options, t.Say("seen."+string(f)))
	}
	options = append(options, t.Say("seen.insects"))
	if lack := t.Say("seen.lack"); t.Fits(t.Say("seen.ask") + "\n" + strings.Join(append(options, lack), "\n") + "\n" + t.Say("foot.how")) {
		options = append(options, lack)
	}
	return ask.Says(t.Say("seen.ask"), options...)
}

func takeSeen(t *talk.Talk, draft *session.Draft, entry string) talk.Move {
	if entry == ask.LackKey {
		if !signsAsked(&draft.Readings) { // what was said before stays said
			draft.Readings.Looked = grading.NotLooked
			if draft.Readings.Signed() {
				draft.Readings.Looked = grading.WasLooked
			}
		}
		return talk.Go(nextStep(t))
	}
	f, ok := signs.In(t, entry)
	if !ok {
		return ask.WrongChoice(t)
	}
	if first := !signsAsked(&draft.Readings); first {
		f.Join(&draft.Readings)
	} else {
		f.Note(&draft.Readings)
	}
	draft.Sure = slices.DeleteFunc(draft.Sure, func(s string) bool { return s == smellSure })
	t.Touch(grading.LiveWeevils)
	if f.Insects {
		return talk.Go(insectsScreen)
	}
	return talk.Go(nextStep(t)).Saying(signs.Noted(t, &draft.Readings))
}

// smellSure says that the person was asked what kind of bad smell it is. Until
// then it counts as musty, so that a dropped session loses no danger.
const smellSure = "smell"

// smellOpen reports whether we still have to ask what kind of bad smell it is.
func smellOpen(draft *session.Draft) bool {
	return slices.Contains(draft.Readings.Flags, grading.Musty) && !slices.Contains(draft.Sure, smellSure)
}

func takeSmell(t *talk.Talk, draft *session.Draft, entry string) talk.Move {
	flags, ok := signs.Smell(t, entry)
	if !ok {
		return ask.WrongChoice(t)
	}
	r := &draft.Readings
	r.Flags = append(slices.DeleteFunc(slices.Clone(r.Flags), func(f grading.Flag) bool { return f == grading.Musty || f == grading.OffOdour }), flags...)
	draft.Sure = append(draft.Sure, smellSure)
	return talk.Go(nextStep(t)).Saying(signs.Noted(t, r))
}

func showInsects(t *talk.Talk) talk.Shown {
	return ask.Says(t.Say("ask.insects", "like", like(t, insectGroup.fields)))
}

func takeInsects(t *talk.Talk, draft *session.Draft, entry string) talk.Move {
	if entry == ask.LackKey { // seen, and not counted
		return talk.Go(nextStep(t)).Saying(signs.Noted(t, &draft.Readings))
	}
	like := like(t, insectGroup.fields)
	numbers, why := talk.ReadNumbers(entry)
	if why != "" {
		return ask.Misread(t, why, like)
	}
	if len(numbers) > 2 {
		return talk.Refuse(t.Say("wrong.many", "got", len(numbers), "want", 2, "like", like))
	}
	readings := draft.Readings.Clone()
	readings.Set(grading.LiveOthers, 0)
	for i, v := range ask.Values(numbers) {
		readings.Set(insectGroup.fields[i], v)
	}
	if move := impossible(t, &readings, insectGroup.fields); move != nil {
		return *move
	}
	draft.Readings = readings
	return talk.Go(nextStep(t)).Saying(signs.Noted(t, &readings))
}

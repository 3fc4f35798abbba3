package screen

import (
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/talk"
)

const (
	seenScreen    session.ScreenID = "seen"
	insectsScreen session.ScreenID = "insects"
)

// seen are the screens about what no tool measures.
func seen() []talk.Screen {
	return []talk.Screen{
		{ID: seenScreen, Show: showSeen, Take: takeSeen, Help: helpful("help.seen")},
		{ID: insectsScreen, Show: showInsects, Take: takeInsects, Help: helpful("help.insects"),
			Zero: func(*talk.Talk) bool { return true }},
	}
}

// signs are the flags in the order of the screen's numbers 2 to 5.
var signs = grading.FlagsOn("seen")

// insectSign is the screen's number for live insects.
const insectSign = 6

func showSeen(t *talk.Talk) talk.Shown {
	options := []string{t.Say("seen.none")}
	for _, f := range signs {
		options = append(options, t.Say("seen."+string(f)))
	}
	return says(t.Say("seen.ask"), append(options, t.Say("seen.insects"))...)
}

func takeSeen(t *talk.Talk, entry string) talk.Move {
	draft := t.Draft()
	if draft == nil {
		return talk.Home("")
	}
	numbers, why := talk.ReadNumbers(entry)
	if no(t, entry) && entry != "2" {
		numbers, why = []talk.Typed{{Value: whole}}, ""
	}
	if why != "" {
		return wrongChoice(t)
	}
	var flags []grading.Flag
	insects := false
	for _, n := range numbers {
		k, ok := intOf(n.Value)
		switch {
		case !ok || k < 1 || k > insectSign || k == 1 && len(numbers) > 1:
			return wrongChoice(t)
		case k == insectSign:
			insects = true
		case k > 1:
			flags = append(flags, signs[k-2])
		}
	}
	draft.Readings.Flags = flags
	t.Touch(grading.LiveWeevils)
	if insects {
		return talk.Go(insectsScreen)
	}
	draft.Readings.Set(grading.LiveWeevils, 0)
	draft.Readings.Set(grading.LiveOthers, 0)
	return talk.Go(nextStep(t))
}

func showInsects(t *talk.Talk) talk.Shown {
	return says(t.Say("ask.insects", "like", like(t, insectGroup.fields)))
}

func takeInsects(t *talk.Talk, entry string) talk.Move {
	draft := t.Draft()
	if draft == nil {
		return talk.Home("")
	}
	like := like(t, insectGroup.fields)
	numbers, why := talk.ReadNumbers(entry)
	if why != "" {
		return misread(t, why, like)
	}
	if len(numbers) > 2 {
		return talk.Refuse(t.Say("wrong.many", "got", len(numbers), "want", 2, "like", like))
	}
	readings := draft.Readings.Clone()
	readings.Set(grading.LiveOthers, 0)
	for i, v := range values(numbers) {
		readings.Set(insectGroup.fields[i], v)
	}
	if move := impossible(t, &readings, insectGroup.fields); move != nil {
		return *move
	}
	draft.Readings = readings
	return talk.Go(nextStep(t))
}

// signText names what was seen, "none" for nothing.
func signText(t *talk.Talk, r *grading.Readings) string {
	var out []string
	for _, f := range r.Flags {
		out = append(out, t.Say("flag."+string(f)))
	}
	for _, f := range insectGroup.fields {
		if v, ok := r.Get(f); ok && v > 0 {
			out = append(out, t.Say("flag."+f.String())+" "+t.Number(v))
		}
	}
	if len(out) == 0 {
		return t.Say("line.none")
	}
	return strings.Join(out, ", ")
}

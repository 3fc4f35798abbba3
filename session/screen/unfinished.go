package screen

import (
	"cmp"
	"slices"

	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

const (
	unfinishedScreen session.ScreenID = "unfinished"
	letGoScreen      session.ScreenID = "let-go"
)

// draftLines lists the unfinished checks, each with its next step.
func draftLines(t *talk.Talk) []string {
	var out []string
	for i, d := range t.Dialogue.Drafts {
		probe := *t.Dialogue
		probe.Current = i
		kept := t.Dialogue
		t.Dialogue = &probe
		step := stepName(t, nextStep(t))
		t.Dialogue = kept
		out = append(out, t.Say("unfinished.line", "number", i+1, "lot", t.LotName(d.Lot), "step", step))
	}
	return out
}

// stepName says what a draft waits for.
func stepName(t *talk.Talk, id session.ScreenID) string {
	switch id {
	case "first":
		id = "moisture"
	case "second":
		id = "husk"
	case seenScreen, insectsScreen:
		id = sumScreen
	case handBiteScreen, handCountScreen, handHuskScreen, handAllScreen:
		return t.Say("hand.step")
	case whoseScreen:
		return t.Say("unfinished.step_whose")
	}
	return t.Say("unfinished.step_" + string(cmp.Or(id, sumScreen)))
}

func showUnfinished(t *talk.Talk) talk.Shown {
	if len(t.Dialogue.Drafts) == 0 {
		return ask.Says(t.Say("unfinished.none"))
	}
	shown := ask.Says(t.Say("unfinished.title"))
	shown.Options = append(draftLines(t), t.Say("unfinished.drop", "number", len(t.Dialogue.Drafts)+1))
	return shown
}

func takeUnfinished(t *talk.Talk, entry string) talk.Move {
	n, rest := ask.Choice(entry)
	drafts := len(t.Dialogue.Drafts)
	switch {
	case n == drafts+1 && drafts > 0:
		return talk.Go(letGoScreen)
	case n < 1 || n > drafts:
		return ask.WrongChoice(t)
	}
	draft := t.TakeUp(n - 1)
	if draft.Correcting && slices.Contains([]session.ScreenID{sumScreen, ""}, draft.Screen) {
		draft.Correcting = false
	}
	return talk.GoWith(nextStep(t), rest)
}

func showLetGo(t *talk.Talk) talk.Shown {
	if len(t.Dialogue.Drafts) == 0 {
		return ask.Says(t.Say("unfinished.none"))
	}
	return ask.Says(t.Say("unfinished.drop_ask"), draftLines(t)...)
}

func takeLetGo(t *talk.Talk, entry string) talk.Move {
	n, _ := ask.Choice(entry)
	if n < 1 || n > len(t.Dialogue.Drafts) {
		return ask.WrongChoice(t)
	}
	t.TakeUp(n - 1)
	t.DropDraft()
	return talk.Home(t.Say("sum.withdrawn"))
}

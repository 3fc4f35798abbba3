package screen

import (
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

// agreeScreen asks an agent, before the first check of a grower is filed,
// whether the grower agrees to be recorded. It is for growers from a roster,
// and for all growers when the consent text has changed.
const agreeScreen session.ScreenID = "agree"

// unasked reports whether the lot under way belongs to a person who has not
// agreed to be recorded.
func unasked(t *talk.Talk) bool {
	draft := t.Draft()
	if draft == nil || draft.Lot.Grower == "" || draft.Lot.Grower == t.Person.ID {
		return false
	}
	p := t.PersonOf(draft.Lot.Grower)
	return p.ID != "" && !p.Forgotten && !t.Programme.Agreed(&p)
}

func showAgree(t *talk.Talk) talk.Shown {
	if !unasked(t) {
		return ask.Says(t.Say("unfinished.none"))
	}
	name := t.PersonOf(t.Draft().Lot.Grower).Name
	return ask.Says(t.Say("growers.consent", "name", name), t.Say("growers.yes"), t.Say("growers.no"))
}

// takeAgree files the check after a yes; after a no neither it nor the name
// is kept.
func takeAgree(t *talk.Talk, entry string) talk.Move {
	if !unasked(t) {
		return talk.Home("")
	}
	p := t.PersonOf(t.Draft().Lot.Grower)
	switch {
	case ask.Consents(t, entry):
		t.AgreeFor(p, true)
		return file(t)
	case ask.Refuses(t, entry):
		t.DropDraft()
		t.AgreeFor(p, false)
		return talk.Home(t.Say("growers.declined", "name", p.Name))
	}
	return ask.WrongChoice(t)
}

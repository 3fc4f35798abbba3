package people

import (
	"strconv"
	"strings"

	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

// The screens of a first call; language and consent are the machine's too.
const (
	nameScreen     session.ScreenID = "name"
	districtScreen session.ScreenID = "district"
)

// showLanguages names every language in that language: a question in one
// language would not reach people who cannot read it.
func showLanguages(t *talk.Talk) talk.Shown {
	var options []string
	for i, lang := range t.Programme.Languages {
		options = append(options, strconv.Itoa(i+1)+" "+t.Words.Name(string(lang)))
	}
	return ask.Says(t.Say("language.ask"), options...)
}

func takeLanguage(t *talk.Talk, entry string) talk.Move {
	chosen := session.Language("")
	n, _ := ask.Choice(entry)
	for i, lang := range t.Programme.Languages {
		if n == i+1 || strings.EqualFold(entry, t.Words.Name(string(lang))) || strings.EqualFold(entry, string(lang)) {
			chosen = lang
		}
	}
	if chosen == "" {
		return ask.WrongChoice(t)
	}
	known := t.Person.Consent.Given
	t.ChooseLanguage(chosen)
	if known {
		return talk.Home(t.Say("language.changed"))
	}
	return talk.Go(talk.ConsentScreen)
}

func showConsent(t *talk.Talk) talk.Shown {
	return ask.Says(t.Say("consent.ask", "programme", t.Programme.Name), t.Say("consent.yes"), t.Say("consent.no"))
}

func takeConsent(t *talk.Talk, entry string) talk.Move {
	switch {
	case ask.Consents(t, entry):
		t.Agree()
		if t.Person.Name != "" {
			return welcomed(t, t.Say("consent.thanks"))
		}
		return talk.Go(nameScreen)
	case ask.Refuses(t, entry):
		t.Decline()
		return talk.Finish(t.Say("consent.declined"))
	}
	return ask.WrongChoice(t)
}

func takeName(t *talk.Talk, entry string) talk.Move {
	if entry != "1" {
		name, village, wrong := nameAndVillage(t, entry)
		if wrong != "" {
			return talk.Refuse(wrong)
		}
		p := t.Person
		p.Name = name
		if village != "" {
			p.Village = village
		}
		t.Save(p)
	}
	if len(t.Programme.Districts) > 0 && t.Person.District == "" {
		return talk.Go(districtScreen)
	}
	return welcomed(t, "")
}

// welcomed ends the first call: at the menu, or with the answer to the whole check
// that it began with.
func welcomed(t *talk.Talk, line string) talk.Move {
	if t.TakeFirst() {
		return talk.Stay("")
	}
	return talk.Home(line)
}

// nameAndVillage splits "Asha, Kisima" at the first comma. wrong says why they
// cannot be kept: no letters, or too many.
func nameAndVillage(t *talk.Talk, entry string) (name, village, wrong string) {
	if overlong(entry) {
		return "", "", tooLongName(t)
	}
	name, village, _ = strings.Cut(entry, ",")
	if name, village = t.CleanName(name), t.CleanName(village); name == "" {
		return "", "", t.Say("wrong.name")
	}
	return name, village, ""
}

// overlong reports whether a name or a village of a list of growers has more
// letters than are kept.
func overlong(entry string) bool {
	for _, line := range strings.FieldsFunc(entry, func(r rune) bool { return r == ';' || r == '\n' }) {
		parts := strings.SplitN(line, ",", 3)
		for _, part := range parts[:min(2, len(parts))] {
			if len([]rune(strings.Join(strings.Fields(part), " "))) > session.LongestName {
				return true
			}
		}
	}
	return false
}

func tooLongName(t *talk.Talk) string { return t.Say("wrong.name_long", "most", session.LongestName) }

func showDistricts(t *talk.Talk) talk.Shown {
	options := make([]string, 0, len(t.Programme.Districts)+1)
	for i, d := range t.Programme.Districts {
		options = append(options, strconv.Itoa(ask.ListKey(i))+" "+d)
	}
	return ask.Says(t.Say("who.district"), options...)
}

func takeDistrict(t *talk.Talk, entry string) talk.Move {
	n, _ := ask.Choice(entry)
	at := ask.PlaceOf(n, len(t.Programme.Districts))
	if at < 0 {
		return ask.WrongChoice(t)
	}
	p := t.Person
	p.District = t.Programme.Districts[at]
	t.Save(p)
	return welcomed(t, "")
}

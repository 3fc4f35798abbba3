package screen

import (
	"strings"

	"threshline/session"
)

// The screens of a first call; language and consent are the machine's too.
const (
	nameScreen     session.ScreenID = "name"
	districtScreen session.ScreenID = "district"
)

func welcome() []session.Screen {
	return []session.Screen{
		{ID: session.LanguageScreen, Open: true, Show: showLanguages, Take: takeLanguage},
		{ID: session.ConsentScreen, Open: true, Show: showConsent, Take: takeConsent},
		{ID: nameScreen, Free: true, Show: showName, Take: takeName},
		{ID: districtScreen, Show: showDistricts, Take: takeDistrict},
	}
}

// showLanguages asks in every language by its own name: nobody can be asked in
// one they do not read.
func showLanguages(t *session.Talk) session.Shown {
	var options []string
	for i, lang := range t.Programme.Languages {
		options = append(options, itoa(i+1)+" "+t.Programme.Words.Name(string(lang)))
	}
	return says(t.Say("language.ask"), options...)
}

func takeLanguage(t *session.Talk, entry string) session.Move {
	chosen := session.Language("")
	n, _ := choice(entry)
	for i, lang := range t.Programme.Languages {
		if n == i+1 || strings.EqualFold(entry, t.Programme.Words.Name(string(lang))) || strings.EqualFold(entry, string(lang)) {
			chosen = lang
		}
	}
	if chosen == "" {
		return wrongChoice(t)
	}
	known := t.Person.Consent.Given
	t.ChooseLanguage(chosen)
	if known {
		return session.Home(t.Say("language.changed"))
	}
	return session.Go(session.ConsentScreen)
}

func showConsent(t *session.Talk) session.Shown {
	return says(t.Say("consent.ask", "programme", t.Programme.Name), t.Say("consent.yes"), t.Say("consent.no"))
}

func takeConsent(t *session.Talk, entry string) session.Move {
	switch {
	case yes(t, entry):
		t.Agree()
		if t.Person.Name != "" {
			return session.Home(t.Say("consent.thanks"))
		}
		return session.Go(nameScreen)
	case no(t, entry):
		t.Decline()
		return session.Finish(t.Say("consent.declined"))
	}
	return wrongChoice(t)
}

func showName(t *session.Talk) session.Shown {
	return says(t.Say("who.name"), t.Say("who.skip"))
}

func takeName(t *session.Talk, entry string) session.Move {
	if entry != "1" {
		name, village := nameAndVillage(t, entry)
		if name == "" {
			return session.Refuse(t.Say("wrong.name"))
		}
		p := t.Person
		p.Name = name
		if village != "" {
			p.Village = village
		}
		t.Save(p)
	}
	if len(t.Programme.Districts) > 0 && t.Person.District == "" {
		return session.Go(districtScreen)
	}
	return session.Home("")
}

// nameAndVillage parts "Asha, Kisima" at the first comma.
func nameAndVillage(t *session.Talk, entry string) (name, village string) {
	name, village, _ = strings.Cut(entry, ",")
	return t.CleanName(name), t.CleanName(village)
}

func showDistricts(t *session.Talk) session.Shown {
	options := make([]string, 0, len(t.Programme.Districts)+1)
	for i, d := range t.Programme.Districts {
		options = append(options, itoa(i+1)+" "+d)
	}
	return says(t.Say("who.district"), options...)
}

func takeDistrict(t *session.Talk, entry string) session.Move {
	n, _ := choice(entry)
	if n < 1 || n > len(t.Programme.Districts) {
		return wrongChoice(t)
	}
	p := t.Person
	p.District = t.Programme.Districts[n-1]
	t.Save(p)
	return session.Home("")
}

// Package screen has every screen of the dialogue: what it says, what it
// accepts and where it leads. A screen decides nothing about grades or
// remedies and has no words of its own: those are in package wording.
package screen

import (
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/talk"
	"threshline/session/wording"
)

// All lists every screen, by family, in the order in which a person meets them.
func All() []talk.Screen {
	var all []talk.Screen
	for _, family := range [][]talk.Screen{
		welcome(), menu(), settings(), begin(), steps(), seen(), summary(), agree(), same(), look(), grade(), change(),
		many(), meant(), twice(), mine(), unfinished(), growers(), grower(), drying(), lookup(), invite(), week(), help(),
	} {
		all = append(all, family...)
	}
	return all
}

// NewMachine is the dialogue of a programme with all screens.
func NewMachine(p *programme.Programme, words *wording.Catalogue) *talk.Machine {
	m := &talk.Machine{Programme: p, Words: words, Screens: map[session.ScreenID]*talk.Screen{}, Shorthand: newShort(p.Languages, words)}
	for _, s := range All() {
		m.Screens[s.ID] = &s
	}
	return m
}

// says is a screen's text without anything to choose.
func says(text string, options ...string) talk.Shown {
	return talk.Shown{Text: text, Options: options}
}

// helpful gives the same help whatever the state.
func helpful(key string) func(*talk.Talk) string {
	return func(*talk.Talk) string { return key }
}

// wrongChoice asks again where a number of the list was to be sent.
func wrongChoice(t *talk.Talk) talk.Move { return talk.Refuse(t.Say("wrong.choice")) }

// choice reads an entry as "3" or as "3 and the rest"; 0 for anything else.
func choice(entry string) (n int, rest string) {
	numbers, why := talk.ReadNumbers(first(entry))
	if why != "" || len(numbers) != 1 || numbers[0].Value%whole != 0 || numbers[0].Value > 1000*whole {
		return 0, ""
	}
	return int(numbers[0].Value / whole), after(entry)
}

// yes reads a plain answer: 1 or a word for yes; no likewise.
func yes(t *talk.Talk, entry string) bool { return entry == "1" || t.Hears("accept.yes", entry) }
func no(t *talk.Talk, entry string) bool  { return entry == "2" || t.Hears("accept.no", entry) }

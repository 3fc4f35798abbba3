// Package screen has every screen of the dialogue: what it says, what it accepts
// and where it leads.
//
// A screen decides nothing about grades or remedies and has no words of its own:
// those are in package wording.
package screen

import (
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/screen/answer"
	"threshline/session/screen/ask"
	"threshline/session/screen/dry"
	"threshline/session/screen/people"
	"threshline/session/screen/signs"
	"threshline/session/talk"
	"threshline/session/wording"
)

// All lists every screen, by family, in the order in which a person meets them.
func All() []talk.Screen {
	var all []talk.Screen
	for _, family := range [][]talk.Screen{
		people.Welcome(), menu(), people.Settings(), begin(), steps(), byHand(), seen(), summary(), agree(), same(), answer.Look(), answer.Grade(), change(),
		many(), meant(), twice(), answer.Mine(), unfinished(), people.Growers(beginFor), people.Grower(), dry.Screens(), fieldTests(), answer.Lookup(), people.Invite(), answer.Week(), help(),
	} {
		all = append(all, family...)
	}
	return all
}

// NewMachine is the dialogue of a programme with all screens.
func NewMachine(p *programme.Programme, words *wording.Catalogue) *talk.Machine {
	m := &talk.Machine{Programme: p, Words: words, Screens: map[session.ScreenID]*talk.Screen{}, Shorthand: short{ask.NewReaders(p.Languages, words)}}
	for _, s := range All() {
		if !s.Free {
			s.Take = hearing(s.Take)
		}
		s.Reads = reads[s.ID]
		m.Screens[s.ID] = &s
	}
	return m
}

// hearing takes a word for a sign, or a sentence of signs, when the screen does
// not understand the entry: a danger is heard at every question.
func hearing(take func(*talk.Talk, string) talk.Move) func(*talk.Talk, string) talk.Move {
	return func(t *talk.Talk, entry string) talk.Move {
		move, draft := take(t, entry), t.Draft()
		if !move.Refused() {
			return move
		}
		f, ok := signs.Heard(t, entry)
		if !ok {
			return move
		}
		if draft == nil {
			return answer.Afterwards(t, &f, move)
		}
		f.Tell(&draft.Readings)
		return talk.Go(nextStep(t)).Saying(t.Say("seen.noted", "what", signs.Text(t, &draft.Readings)))
	}
}

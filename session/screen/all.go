// Package screen has every screen of the dialogue: what it says, what it accepts
// and where it leads.
//
// A screen decides nothing about grades or remedies and has no words of its own:
// those are in package wording.
package screen

import (
	"slices"
	"strings"

	"threshline/session"
	"threshline/session/programme"
	"threshline/session/talk"
	"threshline/session/wording"
)

// All lists every screen, by family, in the order in which a person meets them.
func All() []talk.Screen {
	var all []talk.Screen
	for _, family := range [][]talk.Screen{
		welcome(), menu(), settings(), begin(), steps(), byHand(), seen(), summary(), agree(), same(), look(), grade(), change(),
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
		if !s.Free {
			s.Take = hearing(s.Take)
		}
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
		if _, plain := keyed(entry); plain {
			return move
		}
		f, ok := signsIn(t, entry)
		if !ok {
			f, ok = dangersIn(t, entry)
		}
		if !ok || len(f.flags) == 0 && !f.insects {
			return move
		}
		if draft == nil {
			return afterwards(t, &f, move)
		}
		f.tell(&draft.Readings)
		return talk.Go(nextStep(t)).Saying(t.Say("seen.noted", "what", signText(t, &draft.Readings)))
	}
}

// says is a screen's text without anything to choose.
func says(text string, options ...string) talk.Shown {
	return talk.Shown{Text: text, Options: options}
}

// helpful gives the same help whatever the state.
func helpful(key string) func(*talk.Talk) string {
	return func(*talk.Talk) string { return key }
}

// wrongChoice asks again for a number of the list.
func wrongChoice(t *talk.Talk) talk.Move { return talk.Refuse(t.Say("wrong.choice")) }

// listKey is the number of a line in a list. It leaves out 9, which turns the
// page.
func listKey(i int) int {
	if i >= 8 {
		return i + 2
	}
	return i + 1
}

// placeOf returns the place that a number means in a list of n lines; -1 for
// none.
func placeOf(key, n int) int {
	for i := range n {
		if listKey(i) == key {
			return i
		}
	}
	return -1
}

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

// consents reads the answer to whether a person may be recorded: a yes alone,
// or a clear yes with more words ("yes you can keep it"), none of which says no
// or asks anything.
func consents(t *talk.Talk, entry string) bool {
	words := strings.Fields(entry)
	if yes(t, entry) || made(t, words, "accept.yes", "accept.polite") {
		return true
	}
	if len(words) > mostConsent || strings.ContainsAny(entry, "?0123456789") || !begins(t, "accept.surely", words) {
		return false
	}
	return !slices.ContainsFunc(words, func(word string) bool {
		return t.Hears("accept.no", word) || t.Hears("shorthand.denial", word) || t.Hears("shorthand.zero", word) || t.Hears("accept.unless", word)
	})
}

// refuses reads a no, with or without more words.
func refuses(t *talk.Talk, entry string) bool {
	words := strings.Fields(entry)
	return no(t, entry) || made(t, words, "accept.no", "accept.polite") || len(words) <= mostConsent && !strings.ContainsAny(entry, "?0123456789") && begins(t, "accept.never", words)
}

// mostConsent is the most words in an answer whose first word decides. Source:
// assumed.
const mostConsent = 7

// made reports whether an entry consists only of phrases of a list and polite
// words, such as "ok no problem".
func made(t *talk.Talk, words []string, list, polite string) (some bool) {
	if len(words) > mostConsent {
		return false
	}
	for len(words) > 0 {
		n := min(4, len(words))
		for ; n > 0; n-- {
			if phrase := strings.Join(words[:n], " "); t.Hears(list, phrase) {
				some = true
				break
			} else if t.Hears(polite, phrase) {
				break
			}
		}
		if n == 0 {
			return false
		}
		words = words[n:]
	}
	return some
}

// begins reports whether an entry begins with a phrase of a list.
func begins(t *talk.Talk, list string, words []string) bool {
	for n := min(3, len(words)); n > 0; n-- {
		if t.Hears(list, strings.Join(words[:n], " ")) {
			return true
		}
	}
	return false
}

// Package ask has what all screens ask and read with: choices, a yes or a no,
// numbers, and the question whether something else was meant.
package ask

import (
	"slices"
	"strings"

	"threshline/session"
	"threshline/session/shorthand"
	"threshline/session/talk"
	"threshline/session/wording"
)

// LackKey is the key for a person who does not have the tool.
const LackKey = "99"

// MeantScreen asks what an entry means when it is impossible or unlikely as
// typed: "13.2 13.3 13.1?".
const MeantScreen session.ScreenID = "meant"

// Says is a screen's text without anything to choose.
func Says(text string, options ...string) talk.Shown {
	return talk.Shown{Text: text, Options: options}
}

// Saying shows the text of a key, and what to choose by theirs, whatever the state.
func Saying(text string, options ...string) func(*talk.Talk) talk.Shown {
	return func(t *talk.Talk) talk.Shown {
		shown := Says(t.Say(text))
		for _, key := range options {
			shown.Options = append(shown.Options, t.Say(key))
		}
		return shown
	}
}

// Helpful gives the same help whatever the state.
func Helpful(key string) func(*talk.Talk) string {
	return func(*talk.Talk) string { return key }
}

// WrongChoice asks again for a number of the list.
func WrongChoice(t *talk.Talk) talk.Move { return talk.Refuse(t.Say("wrong.choice")) }

// ListKey is the number of a line in a list. It leaves out 9, which turns the
// page.
func ListKey(i int) int {
	if i >= 8 {
		return i + 2
	}
	return i + 1
}

// PlaceOf returns the place that a number means in a list of n lines; -1 for
// none.
func PlaceOf(key, n int) int {
	for i := range n {
		if ListKey(i) == key {
			return i
		}
	}
	return -1
}

// Choice reads an entry as "3" or as "3 and the rest"; 0 for anything else.
func Choice(entry string) (n int, rest string) {
	numbers, why := talk.ReadNumbers(First(entry))
	if why != "" || len(numbers) != 1 || numbers[0].Value%Whole != 0 || numbers[0].Value > 1000*Whole {
		return 0, ""
	}
	return int(numbers[0].Value / Whole), After(entry)
}

// Yes reads a plain answer: 1 or a word for yes; no likewise.
func Yes(t *talk.Talk, entry string) bool { return entry == "1" || t.Hears("accept.yes", entry) }
func No(t *talk.Talk, entry string) bool  { return entry == "2" || t.Hears("accept.no", entry) }

// Consents reads the answer to whether a person may be recorded: a yes alone,
// or a clear yes with more words ("yes you can keep it"), none of which says no
// or asks anything.
func Consents(t *talk.Talk, entry string) bool {
	words := strings.Fields(entry)
	if Yes(t, entry) || made(t, words, "accept.yes", "accept.polite") {
		return true
	}
	if len(words) > mostConsent || strings.ContainsAny(entry, "?0123456789") || !begins(t, "accept.surely", words) {
		return false
	}
	return !slices.ContainsFunc(words, func(word string) bool {
		return t.Hears("accept.no", word) || t.Hears("shorthand.denial", word) || t.Hears("shorthand.zero", word) || t.Hears("accept.unless", word)
	})
}

// Refuses reads a no, with or without more words.
func Refuses(t *talk.Talk, entry string) bool {
	words := strings.Fields(entry)
	return No(t, entry) || made(t, words, "accept.no", "accept.polite") || len(words) <= mostConsent && !strings.ContainsAny(entry, "?0123456789") && begins(t, "accept.never", words)
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

// Agents reports whether the person checks other people's lots.
func Agents(t *talk.Talk) bool {
	return t.Person.Role == session.Agent || t.Person.Role == session.Coordinator
}

// UnderMe reports whether the person may change this short number: a
// coordinator can find anybody, but can number only their own growers.
func UnderMe(t *talk.Talk, p session.Person) bool { return p.Agent == t.Person.ID }

// Back leads to the question whether the person meant another entry.
// otherwise is the entry to take after a no; "" asks for it again.
func Back(t *talk.Talk, what, entry, otherwise string) talk.Move {
	m := t.Memo()
	question := t.Say("meant.ask", "what", what)
	m.Question, m.Meant, m.Otherwise, m.MeantAt = question, entry, otherwise, t.Dialogue.Screen
	return talk.Go(MeantScreen)
}

// Joined puts the lines that say something one under the other.
func Joined(lines ...string) string {
	return strings.Join(slices.DeleteFunc(slices.Clone(lines), func(s string) bool { return s == "" }), "\n")
}

// Readers read the shorthand in each language of a programme: made once, because
// that reads all lists of words.
type Readers map[session.Language]*shorthand.Reader

// NewReaders makes the readers of some languages.
func NewReaders(languages []session.Language, words *wording.Catalogue) Readers {
	readers := Readers{}
	for _, lang := range languages {
		readers[lang] = shorthand.NewReader(words, string(lang))
	}
	return readers
}

// Of is the reader of the talk's language.
func (r Readers) Of(t *talk.Talk) *shorthand.Reader {
	if one := r[t.Language]; one != nil {
		return one
	}
	return shorthand.NewReader(t.Words, string(t.Language))
}

// Reader is what the machine of a talk reads with: its lists are read already.
func Reader(t *talk.Talk) *shorthand.Reader {
	if held, ok := t.Shorthand().(interface {
		Of(*talk.Talk) *shorthand.Reader
	}); ok {
		return held.Of(t)
	}
	return Readers(nil).Of(t)
}

// Nothing is for screens that have nothing to choose.
func Nothing(t *talk.Talk, _ string) talk.Move {
	return talk.Refuse(t.Say("wrong.no_choice"))
}

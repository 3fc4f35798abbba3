package talk

import (
	"cmp"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/wording"
)

// Voice says things to one person: in their language, and so that their phone
// can show it.
type Voice struct {
	Programme *programme.Programme
	Words     *wording.Catalogue
	Language  session.Language
	Budget    session.Budget
}

// languageOf is the language to speak with a person: theirs, or the programme's
// first.
func (v *Voice) languageOf(p session.Person) session.Language {
	switch {
	case p.Language != "":
		return p.Language
	case len(v.Programme.Languages) > 0:
		return v.Programme.Languages[0]
	}
	return "en"
}

// Say is a text in the person's language; args are placeholder names and values.
func (v *Voice) Say(key string, args ...any) string {
	return v.Words.Text(string(v.Language), key, args...)
}

// Knows reports whether a text exists in the person's language or in English.
func (v *Voice) Knows(key string) bool {
	return v.Words.Has(string(v.Language), key) || v.Words.Has("en", key)
}

// Number writes a number the way the language does.
func (v *Voice) Number(d grading.Decimal) string {
	return v.Words.Number(string(v.Language), d.String())
}

// Date writes a day the way the language does, in the programme's time zone.
func (v *Voice) Date(at time.Time) string {
	return v.Words.Date(string(v.Language), at.In(cmp.Or(v.Programme.Zone, time.UTC)))
}

// Hears reports whether an entry is one of the words of a list.
func (v *Voice) Hears(list, entry string) bool {
	return v.Words.Match(string(v.Language), list, entry)
}

// hearsAny looks for a word in the person's language and in all others of the
// programme: a wrong number may not have chosen one.
func (v *Voice) hearsAny(list, entry string) bool {
	if entry == "" || len(entry) > 40 {
		return false
	}
	if v.Words.Match(wording.English, list, entry) || v.Language != wording.English && v.Hears(list, entry) {
		return true
	}
	return slices.ContainsFunc(v.Programme.Languages, func(lang session.Language) bool {
		return lang != wording.English && lang != v.Language && v.Words.Match(string(lang), list, entry)
	})
}

// Fits reports whether a text fits one screen or message of the channel.
func (v *Voice) Fits(text string) bool {
	if len(text) > utf8.UTFMax*v.Budget.Septets { // a letter is a septet at least
		return false
	}
	n, _ := v.Budget.Count(text)
	return n <= v.Budget.Septets
}

// mostMessages is the most messages for one answer when much has to be said at
// once. Source: assumed.
const mostMessages = 3

// FitsLong reports whether a text fits the most messages that one answer may
// have.
func (v *Voice) FitsLong(text string) bool {
	n, _ := v.Budget.Count(text)
	return n <= v.Budget.Joined(mostMessages)
}

// showable replaces the letters that a basic phone cannot show. Only names and
// words from outside can have such letters; our own texts cannot.
func (v *Voice) showable(text string) string {
	if _, ok := v.Budget.Count(text); ok {
		return text
	}
	return strings.Map(func(r rune) rune {
		if _, ok := v.Budget.Count(string(r)); ok {
			return r
		}
		return '?'
	}, text)
}

// CleanName keeps the characters that can be part of a name and that a basic
// phone can show; it returns "" when no letter is left.
func (v *Voice) CleanName(entry string) string {
	var out []rune
	letters := 0
	for _, r := range strings.Join(strings.Fields(entry), " ") {
		if _, ok := v.Budget.Count(string(r)); !ok || len(out) >= session.LongestName {
			r = session.PlainLetter(r)
			if r == 0 || len(out) >= session.LongestName {
				continue
			}
		}
		switch {
		case unicode.IsLetter(r):
			letters++
		case r != ' ' && r != '\'' && r != '-' && r != '.' && !unicode.IsDigit(r):
			continue
		}
		out = append(out, r)
	}
	if letters == 0 {
		return ""
	}
	return session.NoAddress(strings.TrimSpace(string(out)))
}

// longestEcho is how many letters of an entry we repeat to the person. Source:
// assumed.
const longestEcho = 16

// CleanTyped returns an entry as we can repeat it: short, and in letters that
// the phone can show.
func (v *Voice) CleanTyped(entry string) string {
	runes := []rune(v.showable(strings.Join(strings.Fields(entry), " ")))
	return string(runes[:min(longestEcho, len(runes))])
}

package wording

import (
	"strings"
	"unicode"
)

// printKey lists words as a phone shows them and as print does, "recu=reçu".
const printKey = "print.full"

// Print writes a text of a language in the letters of print: on paper nothing
// asks for those of a basic phone, and a word without its accents looks wrong.
func (c *Catalogue) Print(lang, text string) string {
	l := c.languages[lang]
	if l == nil || len(l.words[printKey]) == 0 {
		return text
	}
	full := make(map[string]string, len(l.words[printKey]))
	for _, pair := range l.words[printKey] {
		plain, printed, _ := strings.Cut(pair, "=")
		full[plain] = printed
	}
	var out strings.Builder
	for text != "" {
		end := strings.IndexFunc(text, func(r rune) bool { return !inWord(r) })
		if end < 0 {
			end = len(text)
		}
		out.WriteString(printed(full, text[:end]))
		if text = text[end:]; text != "" {
			next := strings.IndexFunc(text, inWord)
			if next < 0 {
				next = len(text)
			}
			out.WriteString(text[:next])
			text = text[next:]
		}
	}
	return out.String()
}

func inWord(r rune) bool { return unicode.IsLetter(r) || r == '\'' }

// printed is a word in full letters, with its own capital; an article before an
// apostrophe stays.
func printed(full map[string]string, word string) string {
	if i := strings.LastIndexByte(word, '\''); i > 0 && full[strings.ToLower(word)] == "" {
		return word[:i+1] + printed(full, word[i+1:])
	}
	to, ok := full[strings.ToLower(word)]
	switch {
	case !ok:
		return word
	case strings.ToUpper(word) == word && len(word) > 1:
		return word // a word to type, in capitals: RECU
	case strings.ToLower(word) != word:
		first := []rune(to)
		first[0] = unicode.ToUpper(first[0])
		return string(first)
	}
	return to
}

// Package wording holds what the gateway says, per language and by key, and the
// words that it understands.
//
// It decides nothing: the screens choose keys, this package has the words. The
// catalogues are the TOML files beside it; a programme may lay its own files over
// them.
package wording

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"
)

// English is the language that every key exists in, and that stands in for a
// text another language lacks.
const English = "en"

// Catalogue is the wording of every language. It is never changed after it is
// loaded and may be shared between goroutines.
type Catalogue struct {
	languages map[string]*language
	codes     []string
	made      sync.Map // see Once
}

// Once gives what is made from the catalogue alone, by its name: it is made for the
// first who asks and must never be changed.
func (c *Catalogue) Once(name string, make func() any) any {
	made, ok := c.made.Load(name)
	if !ok {
		made, _ = c.made.LoadOrStore(name, make())
	}
	return made
}

// language is one catalogue file, or several laid over one another.
type language struct {
	meta  meta
	texts map[string]text
	words map[string][]string // as written
	known map[string]map[string]bool
	weak  []Weak
}

// text is one value, cut up at its placeholders.
type text struct {
	whole string
	parts []part
	weak  []string // marked weak by the value itself
	where place
}

// part is a run of literal text and the placeholder after it, "" for none.
type part struct{ literal, placeholder string }

// place is where a value stands, for findings.
type place struct {
	file string
	line int
}

// Weak is a word that a speaker has to check before growers see it.
type Weak struct {
	Word string // as it stands in the texts, without accents and case
	Why  string
	Try  string // what to try instead; may be empty
}

// Languages lists the codes, English first and then by the alphabet.
func (c *Catalogue) Languages() []string { return slices.Clone(c.codes) }

// Name is the language's own name, such as "Kiswahili"; the code when unknown.
func (c *Catalogue) Name(lang string) string {
	if l := c.languages[lang]; l != nil && l.meta.Name != "" {
		return l.meta.Name
	}
	return lang
}

// Status says who has looked at a language: "drafted, to be reviewed by a
// speaker" until somebody signs it, then "reviewed by" and the name.
func (c *Catalogue) Status(lang string) string {
	l := c.languages[lang]
	switch {
	case l == nil:
		return "unknown"
	case l.meta.ReviewedBy != "":
		return "reviewed by " + l.meta.ReviewedBy
	}
	return Drafted
}

// ReviewedBy is who signed a language, if anybody did.
func (c *Catalogue) ReviewedBy(lang string) (name string, ok bool) {
	if l := c.languages[lang]; l != nil && l.meta.ReviewedBy != "" {
		return l.meta.ReviewedBy, true
	}
	return "", false
}

// Drafted is the status of a catalogue that nobody has signed.
const Drafted = "drafted, to be reviewed by a speaker"

// Has reports whether the language itself has the text or the list of words.
func (c *Catalogue) Has(lang, key string) bool {
	l := c.languages[lang]
	if l == nil {
		return false
	}
	_, isText := l.texts[key]
	_, isList := l.words[key]
	return isText || isList
}

// Keys lists the keys of a language's texts and lists, sorted.
func (c *Catalogue) Keys(lang string) []string {
	l := c.languages[lang]
	if l == nil {
		return nil
	}
	keys := make([]string, 0, len(l.texts)+len(l.words))
	for k := range l.texts {
		keys = append(keys, k)
	}
	for k := range l.words {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// Placeholders lists the placeholders of a language's text, sorted, each once.
func (c *Catalogue) Placeholders(lang, key string) (names []string) {
	if l := c.languages[lang]; l != nil {
		for _, p := range l.texts[key].parts {
			if p.placeholder != "" && !slices.Contains(names, p.placeholder) {
				names = append(names, p.placeholder)
			}
		}
	}
	slices.Sort(names)
	return names
}

// Text is a text with its placeholders filled: args alternates a placeholder's
// name and its value. A key that the language lacks is said in English, and an
// unknown one gives the key itself, so that a dialogue always has an answer; a
// placeholder without a value stays as it is written.
func (c *Catalogue) Text(lang, key string, args ...any) string {
	t, ok := c.find(lang, key)
	switch {
	case !ok:
		return key
	case len(t.parts) == 1 && t.parts[0].placeholder == "":
		return t.whole
	}
	var out strings.Builder
	out.Grow(len(t.whole) + 16*len(args))
	for _, p := range t.parts {
		out.WriteString(p.literal)
		if p.placeholder != "" {
			writeValue(&out, p.placeholder, args)
		}
	}
	return out.String()
}

func (c *Catalogue) find(lang, key string) (text, bool) {
	if l := c.languages[lang]; l != nil {
		if t, ok := l.texts[key]; ok {
			return t, true
		}
	}
	l := c.languages[English]
	if l == nil {
		return text{}, false
	}
	t, ok := l.texts[key]
	return t, ok
}

func writeValue(out *strings.Builder, placeholder string, args []any) {
	for i := 0; i+1 < len(args); i += 2 {
		if name, ok := args[i].(string); !ok || name != placeholder {
			continue
		}
		switch v := args[i+1].(type) {
		case string:
			out.WriteString(v)
		case int:
			out.WriteString(strconv.Itoa(v))
		default:
			fmt.Fprint(out, v)
		}
		return
	}
	out.WriteString("{" + placeholder + "}")
}

// Words is a list of accepted words, as they are written in the catalogue;
// English's when the language has none such.
func (c *Catalogue) Words(lang, key string) []string {
	for _, code := range []string{lang, English} {
		if l := c.languages[code]; l != nil {
			if w, ok := l.words[key]; ok {
				return slices.Clone(w)
			}
		}
	}
	return nil
}

// Match reports whether what a person typed is one of a list's words, whatever
// its case, accents, apostrophes and doubled spaces.
func (c *Catalogue) Match(lang, key, typed string) bool {
	l := c.languages[lang]
	if l == nil {
		return false
	}
	folded := Fold(lang, strings.Trim(typed, " .,!?;:\t\r\n"))
	known := l.known[key]
	// Numbers alone, as nearly every entry is, have no polite words around them.
	return known[folded] || strings.ContainsFunc(folded, unicode.IsLetter) && known[l.plain(folded)]
}

// politeKey lists words that say nothing about what is wanted: "please".
const politeKey = "accept.polite"

// plain is a folded entry without the polite words at its ends; the entry when
// it has no others.
func (l *language) plain(folded string) string {
	words := strings.Fields(strings.ReplaceAll(folded, ",", " "))
	for again := true; again; {
		again = false
		for n := min(3, len(words)-1); n > 0; n-- {
			if l.known[politeKey][strings.Join(words[len(words)-n:], " ")] {
				words, again = words[:len(words)-n], true
			} else if l.known[politeKey][strings.Join(words[:n], " ")] {
				words, again = words[n:], true
			}
			if again {
				break
			}
		}
	}
	return strings.Join(words, " ")
}

package shorthand

import (
	"strings"

	"threshline/grading"
	"threshline/session/wording"
)

// table is where the lists of words stand in a catalogue.
const table = "shorthand."

// The lists that are no field and no flag.
const (
	bagsKey   = "bags"
	weightKey = "weight"
	growerKey = "grower"
	slipKey   = "slip"
	lookedKey = "looked" // and nothing was seen
	zeroKey   = "zero"
	unableKey = "unable"
	fillerKey = "filler"
	gramsKey  = "grams"
)

// Keys lists the lists of words that the grammar knows, without their table:
// every catalogue has a list for each.
func Keys() []string {
	var keys []string
	for _, f := range grading.Fields() {
		keys = append(keys, f.String())
	}
	keys = append(keys, bagsKey, weightKey, growerKey, slipKey)
	for _, f := range grading.Flags() {
		keys = append(keys, string(f))
	}
	return append(keys, lookedKey, zeroKey, unableKey, fillerKey, gramsKey)
}

// maxPhrase is the most words that one entry of a list may have.
const maxPhrase = 5

// lexicon finds what words mean: the person's own language first, then the
// others. The lists are such that no word means two things.
type lexicon struct {
	lang       string
	own, other map[string]string // folded phrase to key
	heads      map[string]bool   // first words of phrases, folded both ways
}

func newLexicon(cat *wording.Catalogue, lang string) *lexicon {
	l := &lexicon{lang: lang, own: map[string]string{}, other: map[string]string{}, heads: map[string]bool{}}
	for _, key := range Keys() {
		for _, w := range cat.Words(lang, table+key) {
			l.add(l.own, l.fold(lang, w), key)
		}
	}
	for _, code := range cat.Languages() {
		for _, key := range Keys() {
			if !cat.Has(code, table+key) {
				continue
			}
			for _, w := range cat.Words(code, table+key) {
				l.add(l.other, wording.Fold(wording.English, w), key)
			}
		}
	}
	return l
}

func (l *lexicon) add(to map[string]string, phrase, key string) {
	phrase = strings.ReplaceAll(phrase, "-", " ")
	if _, taken := to[phrase]; !taken {
		to[phrase] = key
	}
	head, _, _ := strings.Cut(phrase, " ")
	l.heads[head] = true
}

// find gives the meaning of the longest phrase at the start of the words, and
// how many of them it takes; 0 for none.
func (l *lexicon) find(words []token) (key string, length int) {
	var own, plain []string
	for i, w := range words {
		if i == maxPhrase || w.sort != letters {
			break
		}
		own = append(own, l.fold(l.lang, w.typed))
		plain = append(plain, l.fold(wording.English, w.typed))
	}
	if len(own) == 0 || !l.heads[head(own[0])] && !l.heads[head(plain[0])] {
		return "", 0
	}
	for n := len(own); n > 0; n-- {
		if key, ok := l.own[strings.Join(own[:n], " ")]; ok {
			return key, n
		}
		if key, ok := l.other[strings.Join(plain[:n], " ")]; ok {
			return key, n
		}
	}
	return "", 0
}

// fold brings a word to the form of the lists. A letter by itself is never one
// of Hausa's stand-ins: X is not D.
func (l *lexicon) fold(lang, s string) string {
	if len(s) == 1 {
		lang = wording.English
	}
	return strings.ReplaceAll(wording.Fold(lang, s), "-", " ")
}

func head(phrase string) string {
	first, _, _ := strings.Cut(phrase, " ")
	return first
}

// minGuess is how many letters a mistyped word must have to be recognised.
const minGuess = 5

// guess finds the one meaning that a mistyped word of the person's own
// language can have: one letter wrong, missing, added, or two swapped.
func (l *lexicon) guess(word string) (key string, ok bool) {
	word = l.fold(l.lang, word)
	if len(word) < minGuess {
		return "", false
	}
	for phrase, meaning := range l.own {
		if len(phrase) < minGuess || !near(word, phrase) {
			continue
		}
		if ok && meaning != key {
			return "", false
		}
		key, ok = meaning, true
	}
	return key, ok
}

// near tells whether a and b are one slip of the finger apart.
func near(a, b string) bool {
	if len(a) < len(b) {
		a, b = b, a
	}
	if len(a)-len(b) > 1 {
		return false
	}
	i := 0
	for i < len(b) && a[i] == b[i] {
		i++
	}
	switch {
	case len(a) > len(b):
		return a[i+1:] == b[i:]
	case i == len(a):
		return true
	case a[i+1:] == b[i+1:]:
		return true
	}
	return i+1 < len(a) && a[i] == b[i+1] && a[i+1] == b[i] && a[i+2:] == b[i+2:]
}

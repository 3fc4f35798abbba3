package shorthand

import (
	"maps"
	"slices"
	"strconv"
	"strings"

	"threshline/grading"
	"threshline/session/wording"
)

// table is where the lists of words stand in a catalogue.
const table = "shorthand."

// The lists that are neither a field nor a flag.
const (
	bagsKey    = "bags"
	weightKey  = "weight"
	growerKey  = "grower"
	slipKey    = "slip"
	handKey    = "by_hand" // counts without a tool
	biteKey    = "bite"    // what a bitten grain did: its number on the screen
	saltKey    = "salt"    // likewise what dry salt did
	lookedKey  = "looked"  // and nothing was seen
	zeroKey    = "zero"
	unableKey  = "unable"
	fillerKey  = "filler"
	gramsKey   = "grams"
	deniedKey  = "denied"  // a sign that is said not to be there; it has no list
	withoutKey = "without" // zero of what stands behind it, never of what is before it
	denialKey  = "denial"  // words that deny the sign behind them; by themselves they are none
	askingKey  = "asking"  // words that make "all good" behind them a question
	dirtKey    = "dirt"    // chaff or stones: it is asked which
	vagueKey   = "vague"   // "13 to 14", "between": no number is meant
	halfKey    = "half"    // of a bag, of a gram
	shareKey   = "share"   // the "out of" of "3 out of 100"
	particle   = "particle"
	nameKey    = "name"    // names of people that are one letter from a trade word
	pointKey   = "point"   // "13 point 8"
	numeralKey = "numeral" // number words from two on, several for one with a stroke between
)

// toolFields are the readings that need each tool, under the list of its names.
var toolFields = map[string][]grading.Field{
	"meter": {grading.Moisture},
	"scale": {grading.SampleWeight, grading.Chaff, grading.Stones, grading.CleanWeight, grading.BrownWeight, grading.ImmatureWeight},
	"sieve": {grading.Chaff, grading.Stones},
}

// lacksTool begins the key of "no scale"; the tool's name follows.
const lacksTool = "no "

// Keys lists the lists of words that the grammar knows, without their table. Every
// catalogue has a list for each.
func Keys() []string {
	var keys []string
	for _, f := range grading.Fields() {
		keys = append(keys, f.String())
	}
	keys = append(keys, bagsKey, weightKey, growerKey, slipKey, handKey, biteKey, saltKey)
	for _, f := range grading.Flags() {
		keys = append(keys, string(f))
	}
	keys = append(keys, slices.Sorted(maps.Keys(toolFields))...)
	return append(keys, lookedKey, dirtKey, pointKey, vagueKey, halfKey, shareKey, withoutKey, zeroKey, unableKey, fillerKey, gramsKey)
}

// maxPhrase is the most words that one entry of a list may have.
const maxPhrase = 5

// lexicon finds what words mean, first in the person's own language, then in the
// others. No word of the lists means two things.
type lexicon struct {
	lang       string
	own, other map[string]string // folded phrase to key
	heads      map[string]bool   // first words of phrases, folded both ways
	numerals   map[string]string // folded number words of the own language
	particles  map[string]bool   // little words of it that are letters too
	names      map[string]bool   // names of people in it, which are never taken for a mistyped word
}

func newLexicon(cat *wording.Catalogue, lang string) *lexicon {
	l := &lexicon{lang: lang, own: map[string]string{}, other: map[string]string{}, heads: map[string]bool{}, numerals: map[string]string{}, particles: map[string]bool{}, names: map[string]bool{}}
	for i, words := range cat.Words(lang, table+numeralKey) {
		for word := range strings.SplitSeq(words, "/") {
			l.numerals[l.fold(lang, word)] = strconv.Itoa(i + 2)
		}
	}
	for _, word := range cat.Words(lang, table+particle) {
		l.particles[l.fold(lang, word)] = true
	}
	for _, word := range cat.Words(lang, table+nameKey) {
		l.names[l.fold(lang, word)] = true
	}
	l.take(cat, lang, l.own, lang)
	for _, code := range cat.Languages() {
		l.take(cat, code, l.other, wording.English)
	}
	return l
}

// take adds a language's lists, then the labels of its screens, then the signs with a
// denying word before them. The first meaning counts.
func (l *lexicon) take(cat *wording.Catalogue, lang string, to map[string]string, fold string) {
	words := map[string][]string{}
	for _, key := range Keys() {
		if cat.Has(lang, table+key) {
			words[key] = slices.Clone(cat.Words(lang, table+key))
		}
	}
	for _, key := range Keys() {
		for _, w := range words[key] {
			l.add(to, l.fold(fold, w), key)
		}
	}
	for _, key := range Keys() {
		for _, w := range labels(cat, lang, key) {
			l.add(to, l.fold(fold, w), key)
			words[key] = append(words[key], w)
		}
	}
	if !cat.Has(lang, table+denialKey) {
		return
	}
	for _, denial := range slices.Concat(cat.Words(lang, table+denialKey), words[zeroKey], words[withoutKey]) {
		between := " "
		if strings.HasSuffix(denial, "'") {
			between = ""
		}
		for tool := range toolFields {
			for _, w := range words[tool] {
				l.add(to, l.fold(fold, denial+between+w), lacksTool+tool)
			}
		}
	}
	for _, asking := range cat.Words(lang, table+askingKey) {
		for _, w := range words[lookedKey] {
			l.add(to, l.fold(fold, asking+" "+w), deniedKey)
		}
	}
	for _, denial := range cat.Words(lang, table+denialKey) {
		for _, key := range Keys() {
			if !deniable(key) {
				continue
			}
			for _, w := range words[key] {
				if len([]rune(w)) <= shortWord && key != lookedKey {
					continue // a letter is no sign
				}
				between := " "
				if strings.HasSuffix(denial, "'") {
					between = ""
				}
				l.add(to, l.fold(fold, denial+between+w), deniedKey)
			}
		}
	}
}

// deniable reports whether a word can be denied as a sign: "not mouldy", "not ok".
func deniable(key string) bool {
	return isFlag(key) || key == lookedKey || isLive(key)
}

// isLive reports whether a word is about live insects.
func isLive(key string) bool {
	return key == grading.LiveWeevils.String() || key == grading.LiveOthers.String()
}

// labels are what the screens call a sign or a reading, without their numbers.
func labels(cat *wording.Catalogue, lang, key string) []string {
	var out []string
	for _, of := range []string{"field.", "flag.", "seen.", "smell."} {
		if cat.Has(lang, of+key) {
			out = append(out, strings.TrimLeft(cat.Text(lang, of+key), "0123456789 "))
		}
	}
	if key == lookedKey && cat.Has(lang, "seen.none") {
		out = append(out, strings.TrimLeft(cat.Text(lang, "seen.none"), "0123456789 "))
	}
	return out
}

// joints stand within a phrase where a blank may stand.
var joints = strings.NewReplacer("-", " ", ",", " ")

func (l *lexicon) add(to map[string]string, phrase, key string) {
	phrase = strings.Join(strings.Fields(joints.Replace(phrase)), " ")
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

// guess finds the only meaning that a mistyped word of the person's own language can
// have: one letter wrong, missing or added, or two swapped.
func (l *lexicon) guess(word string) (key string, ok bool) {
	word = l.fold(l.lang, word)
	if len(word) < minGuess || l.names[word] {
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

// near reports whether a and b are one slip of the finger apart.
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

package shorthand

import (
	"strings"

	"threshline/grading"
	"threshline/session/wording"
)

// element is a token with its meaning.
type element struct {
	sort sort
	// key is what a word means; "" for an unknown word, a number or a break.
	key   string
	typed string
	glued bool
	short bool // a letter or two: a taught letter, not a trade word
	at    int  // where its token begins, in runes
	grams bool // a number with its unit behind it
}

func (e element) isNumber() bool { return e.sort == number }
func (e element) isWord() bool   { return e.sort == letters }
func (e element) isBreak() bool  { return e.sort == lineBreak }

// slipLength is how many characters a slip has.
const slipLength = 7

// shortWord is how many letters a taught letter has at most.
const shortWord = 2

// elements gives every token its meaning.
func (l *lexicon) elements(text string) []element {
	tokens := scan(text)
	var out []element
	for i := 0; i < len(tokens); {
		t, before := tokens[i], len(out)
		if t.sort == plus {
			if last := len(out) - 1; last > 0 && isWeight(out[last-1].key) { // "I 0.2+0.6" is one number, "13.8+14.1" two
				out[last].typed += "+" + tokens[i+1].typed
				i++
			}
			i++
			continue
		}
		if t.sort != letters {
			out = append(out, element{sort: t.sort, typed: t.typed, glued: t.glued, at: t.at})
			i++
			continue
		}
		if l.isGrams(tokens, i) {
			out[len(out)-1].grams = true
			i++
			continue
		}
		key, n := l.find(tokens[i:])
		if n == 0 {
			key, n = l.elided(t)
		}
		switch {
		case n == 0:
			out = append(out, l.takeApart(t, tokens[i+1:])...)
			i++
		case key == slipKey:
			slip, used := slipAfter(tokens[i+n:])
			out = append(out, element{sort: letters, key: slipKey, typed: slip})
			i += n + used
		default:
			short := n == 1 && len([]rune(t.typed)) <= shortWord
			out = append(out, element{sort: letters, key: key, typed: typedPhrase(tokens[i : i+n]), glued: t.glued, short: short})
			i += n
		}
		for ; before < len(out); before++ {
			out[before].at = t.at
		}
	}
	return out
}

// isWeight reports whether a word is of a reading in grams.
func isWeight(key string) bool {
	f, ok := grading.ParseField(key)
	return ok && f.Kind() == grading.WeightField
}

// elided finds a word behind an article that lost its vowel: "d'humidité".
func (l *lexicon) elided(t token) (key string, n int) {
	i := strings.IndexFunc(t.typed, apostrophe)
	if i < 1 || i > 2 {
		return "", 0
	}
	word := strings.TrimLeftFunc(t.typed[i:], apostrophe)
	if word == "" {
		return "", 0
	}
	return l.find([]token{{sort: letters, typed: word}})
}

func typedPhrase(tokens []token) string {
	words := make([]string, len(tokens))
	for i, t := range tokens {
		words[i] = t.typed
	}
	return strings.Join(words, " ")
}

// isGrams reports whether the letter g here is the unit of the number before it, and
// not the letter of a grower: it touches the number, or a known word or the end
// follows.
func (l *lexicon) isGrams(tokens []token, i int) bool {
	if wording.Fold(wording.English, tokens[i].typed) != "g" || i == 0 || tokens[i-1].sort != number {
		return false
	}
	if tokens[i].glued || i+1 == len(tokens) {
		return true
	}
	next := tokens[i+1]
	if tokens[i].typed == "g" && next.sort == letters && next.typed == strings.ToLower(next.typed) {
		return true // "200 g before cleaning" names nobody
	}
	if next.sort != letters {
		return next.sort != number
	}
	_, n := l.find(tokens[i+1:])
	return n > 0
}

// takeApart reads an unknown run of letters that holds a taught letter with something
// attached: the unit of the number before ("20gO"), or the letter O for zero ("PO",
// "IO.06").
func (l *lexicon) takeApart(t token, after []token) []element {
	lower := strings.ToLower(t.typed)
	if t.glued {
		for _, unit := range []string{"kg", "gr", "g"} {
			rest := strings.TrimPrefix(lower, unit)
			if key, n := l.find([]token{{sort: letters, typed: rest}}); len(rest) < len(lower) && n > 0 {
				return []element{{sort: letters, key: key, typed: rest, short: len(rest) <= shortWord}}
			}
		}
	}
	code, isOh := strings.CutSuffix(lower, "o")
	if key, n := l.find([]token{{sort: letters, typed: code}}); isOh && len(code) == 1 && n > 0 {
		letter := element{sort: letters, key: key, typed: code, glued: t.glued, short: true}
		if len(after) > 0 && after[0].sort == number && after[0].glued {
			return []element{letter, {sort: letters, key: ohKey, typed: "O"}}
		}
		return []element{letter, {sort: number, typed: "0"}}
	}
	return []element{{sort: letters, typed: t.typed, glued: t.glued}}
}

// ohKey marks a letter O that stands for the zero of the number attached to it.
const ohKey = "oh"

// slipAfter collects the characters of a slip from tokens, which spaces and hyphens may
// part, and says how many tokens it took.
func slipAfter(tokens []token) (slip string, used int) {
	for _, t := range tokens {
		if t.sort == lineBreak || len(slip) >= slipLength {
			break
		}
		piece := strings.ToUpper(strings.Trim(t.typed, "-"))
		if len(slip)+len(piece) > slipLength || strings.ContainsAny(piece, ".,") {
			break
		}
		slip += piece
		used++
	}
	if len(slip) != slipLength && used > 1 {
		return strings.ToUpper(tokens[0].typed), 1
	}
	return slip, used
}

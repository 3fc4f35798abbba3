package wording_test

import (
	"regexp"
	"strings"
	"testing"

	"threshline/session/wording"
)

// placeholders and letterRuns are the parts of a text.
var (
	placeholders = regexp.MustCompile(`\{[^}]*\}`)
	letterRuns   = regexp.MustCompile(`\p{L}+`)
)

// twoWords are words that exist with and without an accent, with another
// meaning each.
var twoWords = map[string]string{
	"a":       "has, beside à, to",
	"accepte": "accepts, beside accepté",
	"classe":  "grade, beside classé",
	"classes": "grades, beside classés",
	"corrige": "corrects, beside corrigé",
	// On a phone contrôle has no accent: it lacks the letter ô.
	"controle": "check, beside controlé, checked",
	"demande":  "asks, beside demandé",
	"des":      "of the, beside dès, from",
	"garde":    "keeps, beside gardé",
	"marques":  "marks, beside marqués",
	"mesure":   "measures, beside mesuré",
	"note":     "notes, beside noté",
	"passe":    "passes, beside passé",
	"reste":    "stays, beside resté",
}

// A phone shows the accents that its alphabet has: a word that has one in one
// text has it in every text.
func TestAWordKeepsItsAccent(t *testing.T) {
	c := embedded(t)
	needed := map[string]bool{}
	for _, lang := range c.Languages() {
		accented, bare := map[string]string{}, map[string][]string{}
		for _, key := range c.Keys(lang) {
			text := placeholders.ReplaceAllString(c.Text(lang, key), " ")
			if text == key {
				continue
			}
			for _, word := range letterRuns.FindAllString(strings.ToLower(text), -1) {
				if plain := wording.Fold("en", word); plain != word {
					accented[plain] = word
				} else {
					bare[word] = append(bare[word], key)
				}
			}
		}
		for plain, with := range accented {
			switch keys := bare[plain]; {
			case len(keys) == 0:
			case twoWords[plain] != "" && lang == "fr":
				needed[plain] = true
			default:
				t.Errorf("%s: %v say %q where others say %q", lang, keys, plain, with)
			}
		}
	}
	for word := range twoWords {
		if !needed[word] {
			t.Errorf("%q has no accent in any text: take it off the list", word)
		}
	}
}

// What print writes in full has on the phone every letter that a phone has:
// only the others are written plain.
func TestAPhoneKeepsTheLettersThatItHas(t *testing.T) {
	c := embedded(t)
	pairs := 0
	for _, lang := range c.Languages() {
		for _, pair := range c.Words(lang, "print.full") {
			plain, printed, _ := strings.Cut(pair, "=")
			phone, full := []rune(plain), []rune(printed)
			if len(phone) != len(full) {
				t.Errorf("%s: %q and %q differ in length", lang, plain, printed)
				continue
			}
			pairs++
			for i, r := range full {
				if strings.ContainsRune("éèàùìòäöñü", r) && phone[i] != r {
					t.Errorf("%s: %q lacks the %c of %q, which a phone has", lang, plain, r, printed)
				}
			}
		}
	}
	if pairs < 40 {
		t.Errorf("%d words of print were looked at, want 40 at least", pairs)
	}
}

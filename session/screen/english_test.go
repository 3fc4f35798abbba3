package screen_test

import (
	"strings"
	"testing"
	"unicode"

	"threshline/session/wording"
)

// honest are words of the English texts that may stand on a screen in another
// language: names of districts and standards, which are not translated.
var honest = map[string]bool{"upper": true, "lower": true, "grade": true, "rice": true, "scheme": true, "valley": true, "english": true}

// englishOnly gives the words that stand in English texts and in none of the
// language's own, texts and words that it understands.
func englishOnly(c *wording.Catalogue, lang string) map[string]bool {
	only := map[string]bool{}
	for _, key := range c.Keys(wording.English) {
		for _, word := range plainWords(c.Text(wording.English, key)) {
			only[word] = true
		}
	}
	for _, key := range c.Keys(lang) {
		for _, text := range append(c.Words(lang, key), c.Text(lang, key)) {
			for _, word := range plainWords(text) {
				delete(only, word)
			}
		}
	}
	for word := range honest {
		delete(only, word)
	}
	return only
}

// plainWords are the words of a text with three letters or more, without its
// placeholders.
func plainWords(text string) (out []string) {
	for {
		before, rest, found := strings.Cut(text, "{")
		for _, word := range strings.FieldsFunc(before, func(r rune) bool { return !unicode.IsLetter(r) && r != '\'' }) {
			if len([]rune(word)) > 2 {
				out = append(out, strings.ToLower(word))
			}
		}
		if !found {
			return out
		}
		_, text, _ = strings.Cut(rest, "}")
	}
}

// The words of a message that could not be read are said in its language: what
// was typed may be English, what the screen says of it is not.
func TestWhatIsWrongIsSaidInTheLanguage(t *testing.T) {
	for _, lang := range []string{"fr", "sw", "ha"} {
		for _, text := range []string{
			"SAC H 14 E 20", "GUNIA U 14 S 20", "BUHU D 14 SM 20", "KG 600 KG 700 U 13 S 20", "PR H 13 E 20", "MK U 13 S 20", "MN D 13 SM 20",
			"RISITI U 13 S 20", "H 13 E 20 impuretés 3", "U 13 S 20 uchafu 3", "D 13 SM 20 datti 3", "1,200 13 8", "H 13 à 14 E 20", "99 13 E 20 S 30",
		} {
			h := on(t, lang)
			only := englishOnly(h.world.machine.Words, lang)
			for _, word := range plainWords(must(t, h.sms, text)) {
				if only[word] && !strings.Contains(strings.ToLower(text), word) {
					t.Errorf("%s: the answer to %q says %q, which only English does", lang, text, word)
				}
			}
		}
	}
}

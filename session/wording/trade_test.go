package wording_test

import (
	"os"
	"strings"
	"testing"
	"time"

	"threshline/session/wording"
)

// The catalogues speak with the words that growers and traders were read to
// use: testdata/wording/trade-words.txt names the source of each.
func TestTheCataloguesUseTheWordsOfTheTrade(t *testing.T) {
	data, err := os.ReadFile("../../testdata/wording/trade-words.txt")
	if err != nil {
		t.Fatal(err)
	}
	c := embedded(t)
	all := map[string]string{}
	for _, lang := range c.Languages() {
		var said []string
		for _, key := range c.Keys(lang) {
			if text := c.Text(lang, key); text != key {
				said = append(said, text)
			}
		}
		all[lang] = wording.Fold(lang, strings.Join(said, " "))
	}
	count := map[string]int{}
	for n, line := range strings.Split(string(data), "\n") {
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		columns := strings.Split(line, "|")
		if len(columns) != 4 {
			t.Fatalf("line %d: want four columns", n+1)
		}
		lang, word := strings.TrimSpace(columns[0]), wording.Fold(strings.TrimSpace(columns[0]), strings.TrimSpace(columns[2]))
		if !strings.Contains(all[lang], word) {
			t.Errorf("line %d: nothing in %s says %q", n+1, lang, word)
		}
		count[lang]++
	}
	for _, lang := range []string{"fr", "sw", "ha"} {
		if count[lang] < 10 {
			t.Errorf("%d words of %s, want 10 at least", count[lang], lang)
		}
	}
}

// Marks and months as in [CLDR-SW-HA]: Swahili and Hausa write a decimal point
// and a comma for thousands, Hausa's months are Janairu to Disamba. The French
// decimal comma: [RIZ-STOCKAGE] prints 4,4 and 1,06.
func TestNumbersAndDatesOfEachLanguage(t *testing.T) {
	c := embedded(t)
	for lang, want := range map[string]string{"en": "12,345.6", "fr": "12 345,6", "sw": "12,345.6", "ha": "12,345.6"} {
		if got := c.Number(lang, "12345.6"); got != want {
			t.Errorf("%s writes %q, want %q", lang, got, want)
		}
	}
	day := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	for lang, want := range map[string]string{"en": "25 Nov 2026", "fr": "25/11/2026", "sw": "25/11/2026", "ha": "25/11/2026"} {
		if got := c.Date(lang, day); got != want {
			t.Errorf("%s writes %q, want %q", lang, got, want)
		}
	}
	for lang, want := range map[string]string{"en": "25 Nov", "fr": "25/11", "sw": "25/11", "ha": "25/11", "none": "11-25"} {
		if got := c.Day(lang, day); got != want {
			t.Errorf("%s writes the day as %q, want %q", lang, got, want)
		}
	}
}

// STOP works in every language, and so does the word of the language.
func TestStopHelpAndStartAreUnderstood(t *testing.T) {
	c := embedded(t)
	typed := map[string]map[string][]string{
		"accept.stop": {
			"en": {"STOP", "stop.", "Stop!"}, "fr": {"STOP", "Arrêt", "ARRET", "fin", "désabonner"},
			"sw": {"STOP", "acha", "Sitisha", "JITOE"}, "ha": {"STOP", "tsaya", "Daina", "cire ni"},
		},
		"accept.help": {"en": {"help", "INFO"}, "fr": {"aide", "HELP"}, "sw": {"Msaada", "nisaidie"}, "ha": {"taimako", "AGAJI"}},
		"accept.yes":  {"en": {"Y", "yes"}, "fr": {"oui", "WI", "d'accord"}, "sw": {"ndiyo", "Ndio", "sawa"}, "ha": {"eh", "na'am", "NAAM"}},
		"accept.no":   {"en": {"no"}, "fr": {"non"}, "sw": {"hapana", "siyo"}, "ha": {"a'a", "A A", "aa"}},
	}
	for list, languages := range typed {
		for lang, words := range languages {
			for _, w := range words {
				if !c.Match(lang, list, w) {
					t.Errorf("%s: %q is not understood as %s", lang, w, list)
				}
			}
		}
	}
}

// STOP, HELP, START and MENU are looked for in every language of a programme,
// whatever the person's own: none of their words may mean another of them, or
// yes, anywhere.
func TestWordsThatAlwaysWorkDoNotCollide(t *testing.T) {
	c := embedded(t)
	lists := []string{"accept.stop", "accept.help", "accept.start", "accept.menu", "accept.yes", "accept.forget"}
	meaning := map[string]string{}
	for _, lang := range c.Languages() {
		for _, list := range lists {
			for _, w := range c.Words(lang, list) {
				folded := wording.Fold(wording.English, w)
				if other, ok := meaning[folded]; ok && other != list {
					t.Errorf("%q of %s is %s and %s", w, lang, list, other)
				}
				meaning[folded] = list
			}
		}
	}
}

func BenchmarkEmbedded(b *testing.B) {
	for b.Loop() {
		if _, err := wording.Embedded(); err != nil {
			b.Fatal(err)
		}
	}
}

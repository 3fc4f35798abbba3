package wording_test

import (
	"strings"
	"testing"
	"testing/fstest"

	"threshline/session/wording"
)

// FuzzFold: folding twice is folding once, and leaves no capital, no plain
// apostrophe and no doubled space.
func FuzzFold(f *testing.F) {
	for _, seed := range []string{"Décortiqué", "K'ASA  Qasa", "١٣٫٨", "\u0130stanbul", "a\u0301'", " \t x", "\xff"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, lang := range []string{"en", "ha"} {
			once := wording.Fold(lang, s)
			if twice := wording.Fold(lang, once); twice != once {
				t.Errorf("%s: %q folds to %q and then to %q", lang, s, once, twice)
			}
			if strings.Contains(once, "'") || strings.Contains(once, "  ") || strings.TrimSpace(once) != once {
				t.Errorf("%s: %q folds to %q", lang, s, once)
			}
		}
	})
}

// FuzzLoad: a catalogue file is read or refused, and what is read can be said
// and verified.
func FuzzLoad(f *testing.F) {
	head := "[meta]\nlanguage = \"en\"\n"
	for _, seed := range []string{"", "[a]\nb = \"x {y} z\"\n", "[a]\nb = { text = \"x\", weak = [\"x\"] }\n", "[a]\nb = [\"x\"]\n", "a.b.c = \"{\"\n", "[[a]]\nb = 1\n"} {
		f.Add(head + seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		c, err := wording.Load(&wording.Catalogue{}, fstest.MapFS{"en.toml": {Data: []byte(text)}})
		if err != nil {
			return
		}
		for _, key := range c.Keys("en") {
			c.Text("en", key, "y", "1")
			c.Words("en", key)
		}
		wording.Verify(c, wording.Limits{})
	})
}

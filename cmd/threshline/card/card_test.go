package card

import (
	"bytes"
	"flag"
	"html"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/standard/standardtest"
	"threshline/session/programme"
	"threshline/session/shorthand"
	"threshline/session/wording"
)

var updateCard = flag.Bool("update-card", false, "write testdata/wording/card.html again")

const moduleRoot = "../../.."

func valley(t *testing.T) (*programme.Programme, *wording.Catalogue) {
	t.Helper()
	words, err := wording.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	return &programme.Programme{Name: "Mbuyu Valley rice scheme", ShortCode: "*0000#", Standard: table(t, "mbuyu-hand")}, words
}

func table(t *testing.T, id string) *grading.Standard {
	t.Helper()
	s, err := standardtest.ByID(id)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// With an empty catalogue every text is its own key: the page shows what stands
// where, whatever the words.
func TestTheCardWithItsKeys(t *testing.T) {
	p, _ := valley(t)
	words, err := wording.Load(&wording.Catalogue{}, fstest.MapFS{"en.toml": {Data: []byte("[meta]\nlanguage = \"en\"\nname = \"English\"\n")}})
	if err != nil {
		t.Fatal(err)
	}
	var got bytes.Buffer
	if err := Write(&got, p, words, "en"); err != nil {
		t.Fatal(err)
	}
	golden := filepath.Join(moduleRoot, "testdata", "wording", "card.html")
	if *updateCard {
		if err := os.WriteFile(golden, got.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got.Bytes(), want) {
		t.Errorf("the card differs from %s; look at it and run with -update-card:\n%s", golden, got.String())
	}
}

// unsaid finds a text that was not said: a key, or a placeholder left open.
var unsaid = regexp.MustCompile(`\{[a-z_]+\}|\b(?:card|help|caution|unfinished|tool|field|flag|why|parameter)\.[a-z_]+\b`)

func TestTheCardOfEveryLanguage(t *testing.T) {
	p, words := valley(t)
	for _, lang := range words.Languages() {
		t.Run(lang, func(t *testing.T) {
			var out bytes.Buffer
			if err := Write(&out, p, words, lang); err != nil {
				t.Fatal(err)
			}
			_, body, _ := strings.Cut(out.String(), "<body")
			text := html.UnescapeString(body)
			if bad := unsaid.FindString(text); bad != "" {
				t.Errorf("%q was not said", bad)
			}
			for _, id := range advice.Cautions() {
				if said := words.Print(lang, words.Text(lang, "caution."+string(id))); !strings.Contains(text, said) {
					t.Errorf("the caution %s is not on the card", id)
				}
			}
			if pattern := shorthand.NewReader(words, lang).Pattern(p.Standard.Needs()); !strings.Contains(text, pattern) {
				t.Errorf("the pattern %q is not on the card", pattern)
			}
			for _, limit := range []string{"14.0", "0.5", "15.0", "10.0"} { // of the table
				if !strings.Contains(text, "\u2264 "+words.Number(lang, limit)) {
					t.Errorf("the limit %s is not on the card", limit)
				}
			}
			if drafted := words.Print(lang, words.Text(lang, "card.drafted")); drafted == "card.drafted" || !strings.Contains(text, drafted) {
				t.Error("the card does not say in its language that nobody has reviewed it")
			}
			for _, english := range []string{wording.Drafted, "(invented)", "francais", "charancons"} {
				if lang != wording.English && strings.Contains(text, english) {
					t.Errorf("the card of %s says %q", lang, english)
				}
			}
			if strings.Contains(out.String(), "<script") || strings.Contains(out.String(), "http") {
				t.Error("the page is not whole by itself")
			}
		})
	}
}

// A standard that limits other things changes the card: steps, letters, limits.
func TestTheCardFollowsTheStandard(t *testing.T) {
	p, words := valley(t)
	p.Standard = table(t, "agmark-paddy")
	c := newCard(p, words, "en")
	if len(c.Limits.Grades) != 4 || c.Limits.Grades[0] != "I" {
		t.Errorf("grades %q, want I to IV", c.Limits.Grades)
	}
	if !strings.Contains(c.Pattern, " V ") {
		t.Errorf("the pattern %q does not ask for other varieties, which AGMARK counts as admixture", c.Pattern)
	}
	if strings.Contains(c.Limits.Status, "Invented") {
		t.Errorf("AGMARK is said to be invented: %q", c.Limits.Status)
	}
}

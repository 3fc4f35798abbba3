package wording_test

import (
	"errors"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"threshline/session/wording"
)

// small is two languages: English whole, French with one key missing.
func small(t *testing.T) *wording.Catalogue {
	t.Helper()
	c, err := wording.Load(&wording.Catalogue{}, fstest.MapFS{
		"en.toml": {Data: []byte(`
[meta]
language = "en"
name = "English"
decimal = "."
thousands = ","
date = "{day} {name} {year}"
months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
[grade]
is = "Grade {grade}: {value}% of {limit}%"
bye = "Goodbye"
[accept]
yes = ["yes", "y"]
`)},
		"fr.toml": {Data: []byte(`
[meta]
language = "fr"
name = "Francais"
decimal = ","
thousands = " "
date = "{day}/{month}/{year}"
[grade]
is = "Classe {grade}: {value}% sur {limit}%"
[accept]
yes = ["oui", "d'accord", "ça va"]
`)},
	})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestText(t *testing.T) {
	c := small(t)
	cases := []struct {
		name, lang, key string
		args            []any
		want            string
	}{
		{"filled in the language", "fr", "grade.is", []any{"grade", "II", "value", "1,5", "limit", 2}, "Classe II: 1,5% sur 2%"},
		{"said in English when the language lacks it", "fr", "grade.bye", nil, "Goodbye"},
		{"said in English when there is no such language", "xx", "grade.bye", nil, "Goodbye"},
		{"an unknown key is said as it is", "fr", "grade.none", nil, "grade.none"},
		{"a placeholder without a value stays", "en", "grade.is", []any{"grade", "I"}, "Grade I: {value}% of {limit}%"},
		{"a name without a value is no accident", "en", "grade.bye", []any{"grade"}, "Goodbye"},
	}
	for _, c2 := range cases {
		t.Run(c2.name, func(t *testing.T) {
			if got := c.Text(c2.lang, c2.key, c2.args...); got != c2.want {
				t.Errorf("got %q, want %q", got, c2.want)
			}
		})
	}
}

func TestNumberAndDateAreWrittenAsTheLanguageDoes(t *testing.T) {
	c := small(t)
	numbers := []struct{ lang, in, want string }{
		{"en", "13.8", "13.8"}, {"fr", "13.8", "13,8"}, {"fr", "-0.25", "-0,25"},
		{"en", "1200", "1200"}, {"en", "12000", "12,000"}, {"fr", "1234567.5", "1 234 567,5"},
		{"fr", "II", "II"}, {"fr", "", ""}, {"fr", "1.", "1."}, {"xx", "13.8", "13.8"},
	}
	for _, n := range numbers {
		if got := c.Number(n.lang, n.in); got != n.want {
			t.Errorf("Number(%s, %q) = %q, want %q", n.lang, n.in, got, n.want)
		}
	}
	day := time.Date(2026, 11, 5, 23, 0, 0, 0, time.UTC)
	for lang, want := range map[string]string{"en": "5 Nov 2026", "fr": "5/11/2026", "xx": "2026-11-05"} {
		if got := c.Date(lang, day); got != want {
			t.Errorf("Date(%s) = %q, want %q", lang, got, want)
		}
	}
}

func TestMatchForgivesCaseAccentsAndMarks(t *testing.T) {
	c := small(t)
	for _, typed := range []string{"oui", "OUI", " Oui. ", "d’accord", "DACCORD", "Ca va", "ça   va!"} {
		if !c.Match("fr", "accept.yes", typed) {
			t.Errorf("%q is not taken for yes", typed)
		}
	}
	for _, typed := range []string{"", "non", "ouioui", "yes"} {
		if c.Match("fr", "accept.yes", typed) {
			t.Errorf("%q is taken for yes", typed)
		}
	}
}

func TestFoldDigitsAndHausaLetters(t *testing.T) {
	cases := []struct{ lang, in, want string }{
		{"en", "١٣٫٨", "13.8"}, {"en", "۱۴", "14"}, {"en", "１４", "14"}, {"en", "  A\u00a0 b\n", "a b"},
		{"fr", "Décortiqué e\u0301", "decortique e"}, {"fr", "œil", "oeil"},
		{"ha", "ƙasa", "kasa"}, {"ha", "Qasa", "kasa"}, {"ha", "k'asa", "kasa"}, {"ha", "faxaxa", "fadada"}, {"ha", "'yan", "yan"},
		{"en", "box", "box"},
	}
	for _, c := range cases {
		if got := wording.Fold(c.lang, c.in); got != c.want {
			t.Errorf("Fold(%s, %q) = %q, want %q", c.lang, c.in, got, c.want)
		}
		if once := wording.Fold(c.lang, c.in); wording.Fold(c.lang, once) != once {
			t.Errorf("folding %q twice changes it", c.in)
		}
	}
}

func TestOverridesAreLaidOverAndLeaveTheBaseAlone(t *testing.T) {
	base := small(t)
	over, err := wording.Load(base, fstest.MapFS{
		"fr.toml": {Data: []byte("[grade]\nis = \"Qualite {grade} ({value} / {limit})\"\n[meta]\nreviewed_by = \"a speaker\"\n")},
		"sw.toml": {Data: []byte("[meta]\nlanguage = \"sw\"\nname = \"Kiswahili\"\n")},
	})
	if err != nil {
		t.Fatal(err)
	}
	if got := over.Text("fr", "grade.is", "grade", 1, "value", 2, "limit", 3); got != "Qualite 1 (2 / 3)" {
		t.Errorf("the override says %q", got)
	}
	if got := base.Text("fr", "grade.is", "grade", 1, "value", 2, "limit", 3); got != "Classe 1: 2% sur 3%" {
		t.Errorf("the base says %q", got)
	}
	if got := over.Number("fr", "1.5"); got != "1,5" {
		t.Errorf("the override lost the decimal mark: %q", got)
	}
	if got := strings.Join(over.Languages(), " "); got != "en fr sw" {
		t.Errorf("languages are %q", got)
	}
	if over.Status("fr") != "reviewed by a speaker" || base.Status("fr") != wording.Drafted || over.Name("sw") != "Kiswahili" {
		t.Errorf("status or name: %q, %q, %q", over.Status("fr"), base.Status("fr"), over.Name("sw"))
	}
}

func TestFaultyCataloguesAreRefusedWithFileLineAndKey(t *testing.T) {
	head := "[meta]\nlanguage = \"en\"\n"
	cases := []struct{ name, data, want string }{
		{"not TOML", head + "[a\n", "en.toml:3"},
		{"a key twice", head + "[a]\nb = \"1\"\nb = \"2\"\n", "en.toml:5"},
		{"a number for a text", head + "[a]\nb = 1\n", `en.toml:4: key "a.b"`},
		{"a placeholder left open", head + "[a]\n\nb = \"x {y\"\n", `en.toml:5: key "a.b": a faulty placeholder`},
		{"a placeholder with a space", head + "[a]\nb = \"x {y z}\"\n", "faulty placeholder"},
		{"a brace too many", head + "[a]\nb = \"x }\"\n", "closing brace"},
		{"a word twice in a list", head + "[a]\nb = [\"x\", \"x\"]\n", "stands twice"},
		{"an empty word", head + "[a]\nb = [\"\"]\n", "list of words"},
		{"an unknown key of meta", head + "colour = \"red\"\n", `unknown key "colour"`},
		{"another language than the name", "[meta]\nlanguage = \"fr\"\n", `says "en"`},
		{"no meta at all", "[a]\nb = \"x\"\n", "language"},
		{"weak marks that are no list", head + "[a]\nb = { text = \"x\", weak = \"x\" }\n", "weak is a list"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := wording.Load(&wording.Catalogue{}, fstest.MapFS{"en.toml": {Data: []byte(c.data)}})
			if !errors.Is(err, wording.ErrCatalogue) || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want it to say %q", err, c.want)
			}
		})
	}
	if _, err := wording.Load(&wording.Catalogue{}, fstest.MapFS{}); !errors.Is(err, wording.ErrCatalogue) {
		t.Errorf("no file at all: %v", err)
	}
}

func BenchmarkText(b *testing.B) {
	c, err := wording.Load(&wording.Catalogue{}, fstest.MapFS{"en.toml": {Data: []byte(
		"[meta]\nlanguage = \"en\"\n[a]\nb = \"Grade {grade}. Held down by {what}: {value}%, limit {limit}%.\"\n")}})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		c.Text("en", "a.b", "grade", "II", "what", "stones and dirt", "value", "1.5", "limit", "1.0")
	}
}

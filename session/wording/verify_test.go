package wording_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/standard"
	"threshline/session/wording"
)

func embedded(t *testing.T) *wording.Catalogue {
	t.Helper()
	c, err := wording.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Every language has every key of English, with the same placeholders and with
// letters that a basic phone can show, and each text fits its screen even with
// long values.
func TestTheCataloguesThatComeAlongHaveNoFault(t *testing.T) {
	c := embedded(t)
	if got := strings.Join(c.Languages(), " "); got != "en fr ha sw" {
		t.Fatalf("languages are %q", got)
	}
	for _, f := range wording.Verify(c, wording.Limits{}) {
		if f.Fault() {
			t.Error(f)
		}
	}
}

// The cautions and what is asked are read in one go: no page may cut them.
func TestShortTextsStayShort(t *testing.T) {
	limits := wording.DefaultLimits()
	for prefix, most := range map[string]int{"caution.": 140, "wrong.": 140, "foot.": 30, "menu.": 90, "field.": 40, "parameter.": 40} {
		limits.ByPrefix[prefix] = most
	}
	limits.Longest["what"] = "discoloured, red, other variety"
	limits.Longest["programme"] = "Mbuyu Valley rice scheme"
	for _, f := range wording.Verify(embedded(t), limits) {
		if f.Kind == wording.TooLong {
			t.Error(f)
		}
	}
}

func TestEveryLanguageSaysThatNobodyReviewedIt(t *testing.T) {
	c := embedded(t)
	for _, lang := range c.Languages() {
		if c.Status(lang) != wording.Drafted {
			t.Errorf("%s is %q: who signed it?", lang, c.Status(lang))
		}
	}
}

func TestVerifyNamesWhatIsWrong(t *testing.T) {
	c, err := wording.Load(&wording.Catalogue{}, fstest.MapFS{
		"en.toml": {Data: []byte("[meta]\nlanguage = \"en\"\n[a]\nb = \"one {x} two\"\nc = \"see\"\nd = [\"word\"]\n")},
		"sw.toml": {Data: []byte("[meta]\nlanguage = \"sw\"\nreviewed_by = \"a speaker\"\nweak = [{ word = \"barakoa\", why = \"a medical mask\", try = \"kitambaa\" }]\n" +
			"[a]\nb = \"moja {y} mbili \u2019\"\ne = \"ziada\"\n[f]\ng = { text = \"mbili\", weak = [\"mbili\"] }\nh = \"Vaa Barakoa, sasa\"\n")},
	})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, f := range wording.Verify(c, wording.Limits{Septets: 20, Longest: map[string]string{"x": "1", "y": strings.Repeat("1", 12)}}) {
		got = append(got, f.String())
	}
	want := []string{
		"en: unsigned: drafted, to be reviewed by a speaker",
		"sw: a.c: missing: English has it",
		"sw: a.d: missing: English has it",
		`sw.toml:6: a.b: placeholder: has ["y"], English has ["x"]`,
		"sw.toml:7: a.e: unknown: English does not have it",
		"sw.toml:9: f.g: unknown: English does not have it",
		"sw.toml:10: f.h: unknown: English does not have it",
		`sw.toml:6: a.b: letter: "` + "\u2019" + `" is not in the GSM 7-bit alphabet`,
		"sw.toml:6: a.b: too long: 25 septets with its longest values, at most 20",
		`sw.toml:9: f.g: weak: "mbili" in "mbili"`,
		`sw: weak: "barakoa": a medical mask; or kitambaa (f.h)`,
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func TestTheTranslatorsListIsNotEmpty(t *testing.T) {
	weak := map[string]int{}
	for _, f := range wording.Verify(embedded(t), wording.Limits{}) {
		if f.Kind == wording.WeakWord {
			weak[f.Language]++
		}
	}
	for _, lang := range []string{"fr", "sw", "ha"} {
		if weak[lang] == 0 {
			t.Errorf("%s has no weak word in use: is its list whole?", lang)
		}
	}
}

// What advice can name, and what the standards that come along limit, has words
// in every language.
func TestEveryRemedyCautionAndParameterHasWords(t *testing.T) {
	c := embedded(t)
	var keys []string
	for _, r := range advice.Remedies() {
		keys = append(keys, "remedy."+string(r.ID)+".do", "remedy."+string(r.ID)+".how")
		if r.CanBeTried() {
			keys = append(keys, "remedy."+string(r.ID)+".try", "remedy."+string(r.ID)+".if")
		}
	}
	for _, id := range advice.Cautions() {
		keys = append(keys, "caution."+string(id))
	}
	for _, f := range grading.Fields() {
		keys = append(keys, "field."+f.String())
	}
	all, err := standard.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range all {
		for i := range s.Parameters {
			keys = append(keys, "parameter."+string(s.Parameters[i].ID))
		}
		if s.OutOfGrade != "U.S. Sample grade" { // a proper name: it stays as it is
			keys = append(keys, "grade_name."+strings.ReplaceAll(strings.ToLower(string(s.OutOfGrade)), " ", "_"))
		}
		for _, class := range s.Classes {
			keys = append(keys, "class."+class)
		}
	}
	if len(keys) < 100 {
		t.Fatalf("only %d keys to look for", len(keys))
	}
	for _, lang := range c.Languages() {
		for _, key := range keys {
			if !c.Has(lang, key) {
				t.Errorf("%s has no %s", lang, key)
			}
		}
	}
}

// A caution must say no less in one language than in another: those on what
// kills name it. The words for poison, animals and danger: [TRT-AFLATOXIN]
// (guba, dabbobi), [KILIMO-SUMUKUVU] (sumu, mifugo).
func TestCautionsNameWhatKills(t *testing.T) {
	c := embedded(t)
	must := map[string]map[string]string{
		"caution.treated_seed": {"en": "poison", "fr": "poison", "sw": "sumu", "ha": "guba"},
		"caution.no_fumigant":  {"en": "licensed", "fr": "agréée", "sw": "leseni", "ha": "lasisi"},
		"caution.mouldy":       {"en": "animals", "fr": "animaux", "sw": "mifugo", "ha": "dabbobi"},
		"help.insects":         {"en": "Never use poison", "fr": "Jamais de poison", "sw": "kamwe", "ha": "guba"},
	}
	for key, words := range must {
		for lang, word := range words {
			if text := c.Text(lang, key); !strings.Contains(text, word) {
				t.Errorf("%s %s lacks %q: %q", lang, key, word, text)
			}
		}
	}
}

// How long a lot with insects stays sealed is said as the advice has it, and never
// that sun and sieve clear it.
func TestInsectsAreSealedForAsLongAsTheAdviceSays(t *testing.T) {
	c := embedded(t)
	for _, lang := range c.Languages() {
		for _, form := range []string{"do", "how"} {
			text := c.Text(lang, "remedy."+string(advice.ClearInsects)+"."+form)
			if !strings.Contains(text, " "+strconv.Itoa(advice.SealedDays/7)) {
				t.Errorf("%s, %s: %q", lang, form, text)
			}
		}
	}
}

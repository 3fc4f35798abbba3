package screen_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
)

// enough is "dry enough" as the catalogues say it of a measured lot.
var enough = map[string][]string{
	"en": {"dry enough", "will do"}, "fr": {"assez sec", "suffit"}, "sw": {"vya kutosha", "yatosha"}, "ha": {"% ta bushe", "ya isa"},
}

// A bitten grain stands for about 20, 18 or 15 % ([RAB-RICE]), salt on the glass
// for over 15 ([AFAG-2007]); none of it, in no language, for dry enough.
func TestNoFieldTestSaysDryEnough(t *testing.T) {
	for _, lang := range newWorld(t, "agmark-paddy").machine.Words.Languages() {
		for _, c := range []struct{ test, sign, about string }{
			{"1", "1", "20%"}, {"1", "2", "18%"}, {"1", "3", "15%"}, {"1", "4", ""}, {"2", "1", "15%"}, {"2", "2", ""},
		} {
			h := on(t, lang)
			words := h.world.machine.Words
			all := strings.Join(h.pages(t, session.USSD, "3", "99", c.test, c.sign), " ")
			if c.about != "" && !strings.Contains(strings.ReplaceAll(all, " %", "%"), c.about) {
				t.Errorf("%s, test %s, sign %s: no %q in\n%s", lang, c.test, c.sign, c.about, all)
			}
			if stop := whenToStop(words.Text(lang, "test.until")); (c.about != "") != strings.Contains(all, stop) {
				t.Errorf("%s, test %s, sign %s: %q:\n%s", lang, c.test, c.sign, stop, all)
			}
			if stop := whenToStop(words.Text(lang, "remedy.dry_sun.how")); strings.Contains(all, stop) {
				t.Errorf("%s, test %s, sign %s: who has no meter is to stop by one: %q:\n%s", lang, c.test, c.sign, stop, all)
			}
			if c.about == "" && !strings.Contains(all, words.Text(lang, "test.unproven")) {
				t.Errorf("%s, test %s, sign %s: not unproven:\n%s", lang, c.test, c.sign, all)
			}
			if !strings.Contains(all, words.Text(lang, "test.measure")) {
				t.Errorf("%s, test %s, sign %s: not to be measured:\n%s", lang, c.test, c.sign, all)
			}
			for _, word := range enough[lang] {
				if strings.Contains(all, word) {
					t.Errorf("%s, test %s, sign %s: says %q:\n%s", lang, c.test, c.sign, word, all)
				}
			}
		}
		fine := on(t, lang).pages(t, session.USSD, "3", "13 600", "2")[0]
		if !slices.ContainsFunc(enough[lang], func(word string) bool { return strings.Contains(fine, word) }) {
			t.Errorf("%s: dry enough is said in other words than are looked for: %s", lang, fine)
		}
	}
}

// whenToStop is the sentence of how to dry that holds the target, 14 %.
func whenToStop(how string) string {
	for _, sentence := range strings.SplitAfter(how, ". ") {
		if strings.Contains(sentence, "{target}") {
			return strings.ReplaceAll(strings.TrimSpace(sentence), "{target}", "14")
		}
	}
	return "no sentence holds the target"
}

// The words of how to dry hold the figures of the plan, in every language:
// layer and turning of [IRRI-SUN], 50 degrees in the grain [IRRI-SUN] and 42 in
// seed [VN-FACT], 43 in the air for seed [RKMP-DRYING], a rest of 4 hours
// [ASABE-TEMPER], sealed at 14 %, seed 12 % [IRRI-HERM], 160 g and 8 g [AFAG-2007].
func TestTheWordsOfDryingHoldItsFigures(t *testing.T) {
	words := newWorld(t, "agmark-paddy").machine.Words
	number := regexp.MustCompile(`\d+`)
	plan, err := advice.PlanDrying(100*grading.One, 20*grading.One, 14*grading.One, advice.Seed)
	if err != nil {
		t.Fatal(err)
	}
	if plan.LayerMin != 2 || plan.LayerMax != 4 || plan.TurnMinutes != 30 || plan.CoverAbove != 42 || plan.AirMax != 43 || plan.RestHours != 4 {
		t.Fatalf("the plan is %+v", plan)
	}
	if advice.SaltTestGrain != 160*grading.One || advice.SaltTestSalt != 8*grading.One {
		t.Fatal("the salt test has other amounts")
	}
	for _, lang := range words.Languages() {
		for key, want := range map[string][]string{
			"remedy.dry_sun.how":     {"2", "4", "30"},
			"test.spread":            {"2", "4", "30"},
			"remedy.dry_machine.how": {"40", "43", "4"},
			"remedy.hermetic.how":    {"14", "12", "2"},
			"caution.hot_grain":      {"50", "42"},
			"help.keep":              {"14", "13", "12", "9"},
			"test.salt_ask":          {"90", "10"},
		} {
			if got := number.FindAllString(words.Text(lang, key), -1); !slices.Equal(got, want) {
				t.Errorf("%s %s has the figures %q, want %q", lang, key, got, want)
			}
		}
	}
}

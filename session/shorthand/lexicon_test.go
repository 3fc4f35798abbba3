package shorthand_test

import (
	"slices"
	"testing"

	"threshline/grading"
	"threshline/session/shorthand"
	"threshline/session/wording"
)

// A message in one language must never be read as something else in another:
// no word stands in two lists, whatever the languages. Fillers, "none" and
// "cannot" are no danger to each other.
func TestNoWordMeansTwoThings(t *testing.T) {
	cat := catalogue(t)
	type meaning struct{ key, lang string }
	seen := map[string]meaning{}
	for _, lang := range cat.Languages() {
		for _, key := range shorthand.Keys() {
			if !cat.Has(lang, "shorthand."+key) {
				t.Errorf("%s has no words for shorthand.%s", lang, key)
			}
			for _, w := range cat.Words(lang, "shorthand."+key) {
				folded := wording.Fold(wording.English, w)
				key := key
				if key == "vague" || key == "share" || key == "half" {
					key = "filler" // a word that says nothing by itself
				}
				if m, ok := seen[folded]; ok && m.key != key {
					t.Errorf("%q is %s in %s and %s in %s", w, m.key, m.lang, key, lang)
				}
				seen[folded] = meaning{key, lang}
			}
		}
	}
	if len(seen) < 200 {
		t.Errorf("only %d words, the catalogues cannot be whole", len(seen))
	}
}

// The pattern that HELP sends is read as it is meant: by the language's own
// reader, and by that of any other language, since people are shown one and
// have the other set.
func TestThePatternOfEachLanguageIsReadByAll(t *testing.T) {
	cat := catalogue(t)
	needs := grading.Fields()
	for _, from := range cat.Languages() {
		pattern := shorthand.NewReader(cat, from).Pattern(needs)
		for _, to := range cat.Languages() {
			m, problems := shorthand.NewReader(cat, to).Parse(pattern)
			if len(problems) > 0 || len(m.Lots) != 1 {
				t.Errorf("%s read as %s: %q: %s", from, to, pattern, describe(m, problems))
				continue
			}
			l := m.Lots[0]
			if missing := l.Missing(needs); len(missing) > 0 || l.Bags != 8 || l.BagKG != 75*grading.One {
				t.Errorf("%s read as %s: %q lacks %v: %s", from, to, pattern, missing, describeLot(l))
			}
			if want := "[13.8 14.1 13.9]"; describeRepeats(l) != want {
				t.Errorf("%s read as %s: moisture %s, want %s", from, to, describeRepeats(l), want)
			}
		}
	}
}

func TestTheReaderForgivesOneSlipOfTheFinger(t *testing.T) {
	cat := catalogue(t)
	for _, lang := range cat.Languages() {
		for _, w := range cat.Words(lang, "shorthand.moisture") {
			if len(w) < 7 || slices.Contains([]rune(w), ' ') {
				continue
			}
			wrong := w[:3] + w[4:] + " 13.8"
			m, problems := shorthand.NewReader(cat, lang).Parse(wrong)
			if len(problems) > 0 || len(m.Lots) != 1 || !m.Lots[0].Readings.Has(grading.Moisture) {
				t.Errorf("%s: %q: %s", lang, wrong, describe(m, problems))
			}
		}
	}
}

func TestThePatternFitsOneSegmentForWhatTheDialogueAsks(t *testing.T) {
	cat := catalogue(t)
	asked := []grading.Field{
		grading.Moisture, grading.SampleWeight, grading.Chaff, grading.Stones, grading.BrownWeight,
		grading.ImmatureWeight, grading.Counted, grading.PestDamaged, grading.Discoloured, grading.Red, grading.OtherVariety,
	}
	for _, lang := range cat.Languages() {
		if p := shorthand.NewReader(cat, lang).Pattern(asked); len(p) > 120 {
			t.Errorf("%s: %d letters: %q", lang, len(p), p)
		}
	}
}

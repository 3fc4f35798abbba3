package shorthand_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session/shorthand"
)

func TestWhatIsAWholeCheckAndWhatIsAnAnswer(t *testing.T) {
	cat := catalogue(t)
	whole := map[string][]string{
		"en": {"M 13.8 S 20", "m13.8s20", "moisture 13.8 sample 20", "13.8 moisture 20 sample", "8 bags of 75 kg M 14", "G 4 M 13.8 14.1", "SLIP K7M2QX9 M 13.6", "Asha M 13.8 S 20"},
		"fr": {"H 13,8 E 20", "humidité 13,8 cailloux 0,06", "PR 4 H 14"},
		"sw": {"U 13.8 S 20", "unyevu 13.8 mawe 0.06", "gunia 8x75 U 14", "MK 4 U 14"},
		"ha": {"D 13.8 SM 20", "danshi 13.8 duwatsu 0.06", "MN 4 D 14"},
	}
	answers := []string{
		"", "1", "0", "00", "?", "yes", "no", "STOP", "HELP", "MENU", "13.8 14.1 13.9", "0.24 0.06", "8 75", "1 8 75", "K7M2QX9", "k7m 2qx9",
		"Asha, Kisima", "SW", "0 1 2", "155.2g 1.1g", "3 13.8 14.1 13.9", "13,8 %", "the price of rice is good", "JOIN AKRWFF", "+33639981234", "G 4", "20 g", "600 kg",
		"\U0001F600", "oui", "ndiyo", "a'a", "hapana", "M",
	}
	for lang, texts := range whole {
		reader := shorthand.NewReader(cat, lang)
		for _, text := range append(texts, reader.Pattern(grading.Fields())) {
			if !reader.Looks(text) {
				t.Errorf("%s: %q is not taken for a whole check", lang, text)
			}
		}
		for _, text := range answers {
			if reader.Looks(text) {
				t.Errorf("%s: %q is taken for a whole check", lang, text)
			}
		}
	}
}

func TestMissingLeavesOutWhatCannotBeMeasured(t *testing.T) {
	needs := []grading.Field{grading.Moisture, grading.SampleWeight, grading.BrownWeight, grading.Red}
	m, problems := shorthand.NewReader(catalogue(t), "en").Parse("M 13.8 B X")
	if len(problems) > 0 || len(m.Lots) != 1 {
		t.Fatalf("%s", describe(m, problems))
	}
	if got, want := m.Lots[0].Missing(needs), []grading.Field{grading.SampleWeight, grading.Red}; !slices.Equal(got, want) {
		t.Errorf("missing %v, want %v", got, want)
	}
}

// Of more than a message can hold whole lots are read; what was not read is said.
// One lot that is longer is refused whole, not cut.
func TestTooLongMessages(t *testing.T) {
	reader := shorthand.NewReader(catalogue(t), "en")
	long := ""
	for i := 1; i <= 15; i++ {
		long += fmt.Sprintf("G%d M 13.2 %s\n", i, strings.Repeat("13.1 ", 20))
	}
	many := ""
	for i := 1; i <= 25; i++ {
		many += fmt.Sprintf("G %d M 13\n", i)
	}
	for _, c := range []struct {
		name, text string
		lots       int
		unread     string
	}{
		{"one lot", strings.Repeat("M 13 ", 400), 0, ""},
		{"long lots", long, 13, "G14 M 13.2 13.1"},
		{"many lots, one a line", many, 20, "G 21 M 13"},
		{"many lots, one after the other", strings.ReplaceAll(many, "\n", " "), 20, "G 21 M 13"},
	} {
		m, problems := reader.Parse(c.text)
		problems = slices.DeleteFunc(problems, func(p shorthand.Problem) bool { return p.Trouble != shorthand.TooLong })
		if len(m.Lots) != c.lots || len(problems) != 1 || problems[0].Trouble != shorthand.TooLong || !strings.HasPrefix(problems[0].Typed, c.unread) {
			t.Errorf("%s: %d lots, problems %v", c.name, len(m.Lots), problems)
		}
	}
}

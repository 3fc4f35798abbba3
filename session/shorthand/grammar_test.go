package shorthand_test

import (
	"os"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session/shorthand"
)

// The table of letters in GRAMMAR.md is the one of the catalogues.
func TestTheGrammarNamesTheLettersOfTheCatalogues(t *testing.T) {
	text, err := os.ReadFile("GRAMMAR.md")
	if err != nil {
		t.Fatal(err)
	}
	cat := catalogue(t)
	languages := []string{"en", "fr", "sw", "ha"} // the columns
	var rows []string
	for _, f := range grading.Fields() {
		rows = append(rows, f.String())
	}
	rows = append(rows, "bags", "weight", "grower", "slip", "by_hand", "bite", "salt", "looked", "unable")
	var table []string
	for _, line := range strings.Split(string(text), "\n") {
		if strings.HasPrefix(line, "| ") && !strings.HasPrefix(line, "| |") && !strings.HasPrefix(line, "| ---") {
			table = append(table, line)
		}
	}
	if len(table) != len(rows) {
		t.Fatalf("the table has %d rows, want %d", len(table), len(rows))
	}
	for i, key := range rows {
		columns := strings.Split(strings.Trim(table[i], "| "), "|")
		if len(columns) != len(languages)+1 {
			t.Fatalf("row %q has %d columns", table[i], len(columns))
		}
		for j, lang := range languages {
			written := strings.TrimSpace(columns[j+1])
			if letter := shorthand.NewReader(cat, lang).Letter(key); letter != written {
				t.Errorf("%s in %s: the grammar says %q, the catalogue %q", key, lang, written, letter)
			}
		}
	}
}

// The legend says what is counted, not the commonest colour of it: whoever reads
// "yellow" leaves out the black ones.
func TestTheLegendSaysWhatIsDiscoloured(t *testing.T) {
	cat := catalogue(t)
	for lang, want := range map[string]string{"en": "DC=discoloured", "fr": "J=colorés", "sw": "RG=rangi", "ha": "RW=launi"} {
		if legend := shorthand.NewReader(cat, lang).Legend(grading.Fields()); !strings.Contains(legend+" ", want+" ") {
			t.Errorf("%s: %q lacks %q", lang, legend, want)
		}
	}
}

package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"threshline/grading"
)

// recipeRow is a row of DEVELOPERS.md's "Add a reading": a place and what stands
// there of the example.
var recipeRow = regexp.MustCompile("(?m)^\\| `([a-zA-Z/_.*]+)` \\| .* \\| (?:`` )?`([^`]+)`(?: ``)? \\|$")

// tableRow is a row of a table in a text for people.
var tableRow = regexp.MustCompile(`(?m)^\|.*$`)

// TestTheRecipeOfAReadingNamesEveryPlace follows the worked example: it stands in
// every place as the recipe says, and so does every other reading there is.
func TestTheRecipeOfAReadingNamesEveryPlace(t *testing.T) {
	const example, article = "cracked", "## Add a reading\n"
	guide, err := os.ReadFile(filepath.Join(moduleRoot, "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, recipe, _ := strings.Cut(string(guide), article)
	recipe, _, _ = strings.Cut(recipe, "\n## ")
	rows := recipeRow.FindAllStringSubmatch(recipe, -1)
	if len(rows) != strings.Count(recipe, "\n| `") || len(rows) < 5 || len(rows) > 8 {
		t.Fatalf("%d of the recipe's rows are a place and an example; a reading touches at most 8", len(rows))
	}
	for _, row := range rows {
		files, err := filepath.Glob(filepath.Join(moduleRoot, filepath.FromSlash(row[1])))
		if err != nil || len(files) == 0 {
			t.Errorf("%s is not there: %v", row[1], err)
		}
		for _, file := range files {
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			text := strings.Join(strings.Fields(string(data)), " ")
			if !strings.Contains(text, row[2]) {
				t.Errorf("%s does not hold %q", file, row[2])
			}
			if strings.HasSuffix(file, ".md") { // a table there says something else by the same name
				text = tableRow.ReplaceAllString(string(data), "")
			}
			from, behind, named := strings.Cut(row[2], example)
			if !named || strings.HasSuffix(row[1], "GRAMMAR.md") { // which a test of its own holds to the letters
				continue
			}
			for _, f := range grading.Fields() {
				if want := from + f.String() + behind[:min(1, len(behind))]; !strings.Contains(text, want) {
					t.Errorf("%s lacks %s: want %q", file, f, want)
				}
			}
		}
	}
}

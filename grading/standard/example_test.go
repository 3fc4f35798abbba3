package standard_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/grading/standard"
)

// A lot checked with hand tools, graded by AGMARK: the grade, what holds it
// down, and how far the next grade is.
func ExampleByID() {
	agmark, err := standard.ByID("agmark-paddy")
	if err != nil {
		fmt.Println(err)
		return
	}
	var lot grading.Readings
	err = json.Unmarshal([]byte(`{"moisture":[13.8,14.1,13.9],"sample_g":200,"chaff_g":2.4,"stones_g":0.6,
		"brown_g":155.2,"immature_g":1.1,"counted":100,"pest_damaged":0,"discoloured":1,"red":2,"other_variety":3}`), &lot)
	if err != nil {
		fmt.Println(err)
		return
	}
	res, err := grading.Grade(agmark, lot)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("grade", res.Grade, "complete", res.Complete)
	for _, id := range res.Deciding {
		p := res.Parameter(id)
		fmt.Printf("%s %s %s, limit %s, next grade from %s\n", p.ID, p.Shown.Fixed(p.Decimals), p.Unit, p.Limit, p.Next)
	}
	// Output:
	// grade II complete true
	// foreign_matter 1.50 % weight, limit 2, next grade from 1
	// damaged_immature_weevilled 1.7 % weight, limit 2, next grade from 1
}

var bracketed = regexp.MustCompile(`\[([A-Z][A-Z0-9]*(?:[-.][A-Z0-9]+)+)(?: [^\]]*)?\]`)

// Every source that a shipped table names has its row in the list of sources,
// and its status there is no better than the table's own.
func TestEverySourceIsListed(t *testing.T) {
	lists, err := filepath.Glob(filepath.Join("..", "..", "testdata", "sources", "*.txt"))
	if err != nil || len(lists) == 0 {
		t.Fatalf("no list of sources found: %v", err)
	}
	rows := make(map[string]string)
	for _, path := range lists {
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.SplitSeq(string(b), "\n") {
			if fields := strings.Split(line, "|"); len(fields) == 6 {
				rows[strings.TrimSpace(fields[0])] = strings.TrimSpace(fields[5])
			}
		}
	}
	for _, s := range builtin(t) {
		want := map[grading.Status]string{
			grading.Published: "used", grading.Secondary: "secondary", grading.Weak: "weak", grading.FromMemory: "from memory", grading.Demo: "assumed",
		}[s.Status]
		if got, ok := rows[s.SourceTag]; !ok || got != want && s.Parent == "" {
			t.Errorf("%s is %s by [%s], whose row says %q", s.ID, s.Status, s.SourceTag, got)
		}
		b, err := os.ReadFile(s.ID + ".toml")
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range bracketed.FindAllStringSubmatch(string(b), -1) {
			if _, ok := rows[m[1]]; !ok {
				t.Errorf("%s.toml cites [%s], which is in no list", s.ID, m[1])
			}
		}
	}
}

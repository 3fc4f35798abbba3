package shorthand_test

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// messageRows reads a table of testdata/shorthand/dangers or texted: the
// columns of each row, as MESSAGES.md there describes them.
func messageRows(t *testing.T, folder, lang string, columns int) [][]string {
	t.Helper()
	file := filepath.Join(tables, folder, lang+".txt")
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]string
	for line := range strings.Lines(string(text)) {
		line = strings.TrimSpace(line)
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		row := strings.Split(line, " | ")
		if len(row) != columns {
			t.Fatalf("%s: %d columns, want %d: %s", file, len(row), columns, line)
		}
		for i := range row {
			row[i] = strings.TrimSpace(row[i])
		}
		rows = append(rows, row)
	}
	return rows
}

var messageLanguages = []string{"en", "fr", "sw", "ha"}

// lotMeant is a lot in the letters that MESSAGES.md names, each at most once.
var lotMeant = regexp.MustCompile(`^(-|(` +
	`(M( \d+(\.\d+)?)+|[SOIBTCPYRW] \d+(\.\d+)?|[MSOIBT] X|BAG \d+(x\d+)?|KG \d+|G (\d+|[A-Z][a-z]+)|SLIP [A-Z0-9]{7})( |$))+)$`)

// otherMeant is a drying request, a consent or a wish.
var otherMeant = regexp.MustCompile(`^(DRY( \d+(\.\d+)?( \d+)?)?|YES|NO|WISH (check|checks|language|help|stop|menu|slip [A-Z0-9]{7}))$`)

// TestDangersAreATable holds the tables of dangers to their own description:
// a row that no test could read would judge nothing.
func TestDangersAreATable(t *testing.T) {
	sign := regexp.MustCompile(`^(unsaid|looked|some|other|(no-)?(mouldy|musty|chemical|treated|warm|insects|smell)( (no-)?(mouldy|musty|chemical|treated|warm|insects|smell))*)$`)
	for _, lang := range messageLanguages {
		rows := messageRows(t, "dangers", lang, 6)
		if len(rows) < 40 {
			t.Errorf("%s: %d messages, want at least 40", lang, len(rows))
		}
		seen := map[string]bool{}
		for i, row := range rows {
			way, ask, message, readings, signs := row[1], row[2], row[3], strings.Split(row[4], " ; "), strings.Split(row[5], " ; ")
			checkRow(t, lang, i, row[0], ask, message, seen)
			if !slices.Contains([]string{"check", "lots", "answer", "recheck"}, way) {
				t.Errorf("%s %d: way %q", lang, i+1, way)
			}
			if len(readings) != len(signs) || (way == "lots") != (len(readings) > 1) {
				t.Errorf("%s %d: %d lots read, signs of %d, way %s", lang, i+1, len(readings), len(signs), way)
			}
			for _, lot := range readings {
				if !lotMeant.MatchString(lot) || (way == "recheck") != strings.Contains(lot, "SLIP") {
					t.Errorf("%s %d: readings %q", lang, i+1, lot)
				}
			}
			for _, s := range signs {
				if !sign.MatchString(s) {
					t.Errorf("%s %d: signs %q", lang, i+1, s)
				}
			}
		}
	}
}

// TestTextedIsATable holds the tables of ordinary messages to their own
// description, each kind to two halves of the same size, and the fresh ones to
// their number.
func TestTextedIsATable(t *testing.T) {
	kinds := []string{"moisture", "bags", "weights", "counts", "whole", "dry", "consent", "menu"}
	for _, lang := range messageLanguages {
		rows := messageRows(t, "texted", lang, 6)
		if len(rows) < 50 {
			t.Errorf("%s: %d messages, want at least 50", lang, len(rows))
		}
		seen, tune, held, fresh := map[string]bool{}, map[string]int{}, map[string]int{}, 0
		for i, row := range rows {
			half, kind, ask, message, meant := row[1], row[2], row[3], row[4], row[5]
			checkRow(t, lang, i, row[0], ask, message, seen)
			switch half {
			case "tune":
				tune[kind]++
			case "held":
				held[kind]++
			case "fresh":
				fresh++
			default:
				t.Errorf("%s %d: half %q", lang, i+1, half)
			}
			want := lotMeant
			if kind == "dry" || kind == "consent" || kind == "menu" {
				want = otherMeant
			}
			if meant != "-" && !want.MatchString(meant) || meant == "-" && ask != "must" {
				t.Errorf("%s %d: meaning %q, asked: %s", lang, i+1, meant, ask)
			}
		}
		for _, kind := range kinds {
			if tune[kind] != held[kind] || tune[kind] == 0 {
				t.Errorf("%s: %s has %d to tune and %d held", lang, kind, tune[kind], held[kind])
			}
			delete(tune, kind)
		}
		if fresh != 40 {
			t.Errorf("%s: %d fresh messages, want 40", lang, fresh)
		}
		if len(tune) > 0 {
			t.Errorf("%s: kinds that MESSAGES.md does not know: %v", lang, tune)
		}
	}
}

// checkRow holds what both tables share: rows count up, no message stands
// twice, and each fits three segments.
func checkRow(t *testing.T, lang string, i int, number, ask, message string, seen map[string]bool) {
	t.Helper()
	if number != strconv.Itoa(i+1) {
		t.Errorf("%s: row %s stands at place %d", lang, number, i+1)
	}
	if ask != "no" && ask != "may" && ask != "must" {
		t.Errorf("%s %d: may it be asked: %q", lang, i+1, ask)
	}
	if message == "" || seen[message] || len([]rune(message)) > 3*153 {
		t.Errorf("%s %d: empty, twice or too long: %q", lang, i+1, message)
	}
	seen[message] = true
}

package screen_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session"
)

// texted are the rows of testdata/shorthand/texted of some kinds, see MESSAGES.md there.
func texted(t *testing.T, lang string, kinds ...string) (rows [][]string) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("../../testdata/shorthand/texted", lang+".txt"))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(data)) {
		row := strings.Split(strings.TrimSpace(line), " | ")
		for i := range row {
			row[i] = strings.TrimSpace(row[i])
		}
		for _, kind := range kinds {
			if len(row) == 6 && row[2] == kind {
				rows = append(rows, row)
			}
		}
	}
	if len(rows) == 0 {
		t.Fatalf("%s has no rows of %v", lang, kinds)
	}
	return rows
}

// TestConsentIsHeard: of how people say yes and no, 90 in 100 are understood,
// and nothing that is no yes is taken for one.
func TestConsentIsHeard(t *testing.T) {
	for _, lang := range []string{"en", "fr", "sw", "ha"} {
		good, all := 0, 0
		for _, row := range texted(t, lang, "consent") {
			half, ask, text, want := row[1], row[3], row[4], row[5]
			w := newWorld(t, "agmark-paddy", session.Language(lang))
			h := &handset{world: w, number: "+33639980077"}
			must(t, h.sms, "hello")
			got, reply := "-", must(t, h.sms, text)
			if p, err := w.store.PersonByPhone(h.number); err == nil && p.Consent.Given {
				got = "YES"
			} else if strings.Contains(reply, w.machine.Words.Text(lang, "consent.declined")) {
				got = "NO"
			}
			right := got == want || ask == "may" && got == "-"
			if got == "YES" && want != "YES" {
				t.Errorf("%s: %q is taken for a yes", lang, text)
			}
			if half == "tune" {
				if !right {
					t.Logf("%s: %q is %s, want %s", lang, text, got, want)
				}
				continue
			}
			all++
			if right {
				good++
			}
		}
		t.Logf("%s: %d of %d", lang, good, all)
		if good*100 < 90*all {
			t.Errorf("%s: %d of %d answers are understood", lang, good, all)
		}
	}
}

// TestDryingIsHeard: who asks about drying in ordinary words is answered about
// that lot, or asked.
func TestDryingIsHeard(t *testing.T) {
	for _, lang := range []string{"en", "fr", "sw", "ha"} {
		good, all := 0, 0
		for _, row := range texted(t, lang, "dry") {
			half, ask, text, want := row[1], row[3], row[4], row[5]
			h := on(t, lang)
			must(t, h.sms, text)
			d, err := h.world.store.Dialogue(h.number)
			if err != nil {
				t.Fatal(err)
			}
			got := strings.TrimSpace(fmt.Sprintf("DRY %s %s", nonzero(d.Memo.DryFrom), nonzero(d.Memo.DryKG)))
			if d.Memo.DryFrom == 0 && !strings.HasPrefix(string(d.Screen), "dry") {
				got = "-"
			}
			right := got == want || strings.HasPrefix(got, want+" ") && want != "DRY" || ask != "no" && got == "-"
			if d.Memo.DryFrom != 0 && !right {
				t.Errorf("%s: %q is taken for %s, want %s", lang, text, got, want)
			}
			if half == "tune" && !right {
				t.Logf("%s: %q is %s, want %s", lang, text, got, want)
			}
			if half == "held" {
				all++
				if right {
					good++
				}
			}
		}
		t.Logf("%s: %d of %d", lang, good, all)
		if good*100 < 70*all { // few rows: what counts is that none is taken for another lot
			t.Errorf("%s: %d of %d requests are understood", lang, good, all)
		}
	}
}

func nonzero(d grading.Decimal) string {
	if d == 0 {
		return ""
	}
	return d.String()
}

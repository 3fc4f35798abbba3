package screen_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

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
			if half != "held" {
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
			if half != "held" && !right {
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
		if good*100 < 90*all {
			t.Errorf("%s: %d of %d requests are understood", lang, good, all)
		}
	}
}

// TestADangerIsHeardWhereDryingIsAsked: who tells a danger with a question about
// drying is asked for the rest of a check of that lot, and gets no plan for drying it.
func TestADangerIsHeardWhereDryingIsAsked(t *testing.T) {
	for lang, texts := range map[string][]string{
		"en": {"dry 18% 600kg mouldy", "how do i dry 20% 300kg it is mouldy"},
		"fr": {"sécher 18% 600kg moisi", "comment sécher 20% 300 kg c'est moisi"},
		"sw": {"kausha 18% kilo 600 ukungu", "nikaushe vipi 20% kilo 300 una ukungu"},
		"ha": {"busar 18% kilo 600 hunhuna", "yaya zan busar da 20% kilo 300 tana da hunhuna"},
	} {
		for i, text := range texts {
			h := on(t, lang)
			must(t, h.sms, text)
			d, err := h.world.store.Dialogue(h.number)
			if err != nil {
				t.Fatal(err)
			}
			kg := []grading.Decimal{600 * grading.One, 300 * grading.One}[i]
			if d.Memo.DryFrom != 0 || len(d.Drafts) != 1 || !slices.Contains(d.Drafts[0].Readings.Flags, grading.Mouldy) || d.Drafts[0].Lot.KG != kg {
				t.Errorf("%s: %q leads to %s with %d checks begun, drying from %s", lang, text, d.Screen, len(d.Drafts), d.Memo.DryFrom)
			}
		}
	}
}

// TestWishesAreHeard: who sends STOP or HELP in a sentence gets it, a slip is looked
// for, and any other wish is answered at least with the menu.
func TestWishesAreHeard(t *testing.T) {
	for _, lang := range []string{"en", "fr", "sw", "ha"} {
		for _, row := range texted(t, lang, "menu") {
			text, want := row[4], strings.TrimPrefix(row[5], "WISH ")
			h, send := asha(t, lang)
			c := send(unlooked + " OK")
			h.world.now = h.world.now.Add(5 * time.Hour)
			reply := must(t, h.sms, strings.Replace(text, "HWMMM3D", string(c.Slip), 1))
			p, err := h.world.store.PersonByPhone(h.number)
			if err != nil {
				t.Fatal(err)
			}
			answered := strings.Contains(reply, h.world.machine.Words.Text(lang, "menu.mine"))
			switch kind, _, _ := strings.Cut(want, " "); kind {
			case "stop":
				answered = !p.Stopped.IsZero()
			case "slip":
				answered = strings.Contains(reply, string(c.Slip))
			case "help":
				answered = strings.Contains(reply, "STOP")
			}
			if !answered || want != "stop" && !p.Stopped.IsZero() {
				t.Errorf("%s: %q is answered %q", lang, text, reply)
			}
		}
	}
}

func nonzero(d grading.Decimal) string {
	if d == 0 {
		return ""
	}
	return d.String()
}

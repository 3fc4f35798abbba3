package screen_test

import (
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"threshline/grading"
	"threshline/session"
)

// The answers of testdata/shorthand/dangers, sent where signs are asked: of a filed
// check that nobody looked at, and of one under way. A danger is in the check, or it
// is asked again and nothing is praised.
func TestADangerInAnAnswerIsHeardOrAsked(t *testing.T) {
	flags := map[string][]grading.Flag{
		"mouldy": {grading.Mouldy, grading.Musty}, "musty": {grading.Mouldy, grading.Musty}, "chemical": {grading.OffOdour, grading.Musty},
		"treated": {grading.TreatedSeed}, "warm": {grading.Warm}, "smell": {grading.Musty, grading.OffOdour},
	}
	for _, lang := range []string{"en", "fr", "sw", "ha"} {
		text, err := os.ReadFile("../../testdata/shorthand/dangers/" + lang + ".txt")
		if err != nil {
			t.Fatal(err)
		}
		answers, heard := 0, 0
		for line := range strings.Lines(string(text)) {
			row := strings.Split(strings.TrimSpace(line), " | ")
			if len(row) != 6 || strings.TrimSpace(row[1]) != "answer" {
				continue
			}
			said, signs := strings.TrimSpace(row[3]), strings.Fields(row[5])
			dangers := slices.DeleteFunc(slices.Clone(signs), func(s string) bool {
				return strings.HasPrefix(s, "no-") || s == "looked"
			})
			for _, first := range []string{unlooked, unlooked + " slimy"} {
				h, _ := asha(t, lang)
				must(t, h.sms, first)
				page := must(t, h.sms, said)
				var r grading.Readings
				for _, c := range h.world.store.checks {
					r = c.Readings
				}
				for _, d := range h.world.store.dialogues[h.number].Drafts {
					r = d.Readings
				}
				weevils, _ := r.Get(grading.LiveWeevils)
				others, _ := r.Get(grading.LiveOthers)
				missing := slices.DeleteFunc(slices.Clone(dangers), func(sign string) bool {
					return sign == "insects" && weevils+others > 0 || slices.ContainsFunc(flags[sign], func(f grading.Flag) bool { return slices.Contains(r.Flags, f) })
				})
				if answers++; len(missing) == 0 {
					heard++
				}
				for _, praise := range []string{"remedy.keep_well.do", "grade.best"} {
					if len(dangers) > 0 && strings.Contains(page, h.world.machine.Words.Text(lang, praise)) {
						t.Errorf("%s, %q is praised:\n%s", lang, said, page)
					}
				}
				if len(missing) > 0 && len(r.Flags) == 0 && r.Looked == grading.WasLooked {
					t.Errorf("%s, %q: %v is lost, and it counts as looked at: %q", lang, said, missing, r.Flags)
				}
			}
		}
		t.Logf("%s: %d of %d answers are heard without asking", lang, heard, answers)
		if answers < 20 || heard*3 < answers {
			t.Errorf("%s: %d of %d answers are heard", lang, heard, answers)
		}
	}
}

// Signs in a sentence are taken where a filed check asks for them, at once or hours
// later; a denial is none, and a refused answer leaves the question on its page.
func TestASentenceOfSignsCompletesACheck(t *testing.T) {
	for _, c := range []struct {
		lang, said string
		flags      []grading.Flag
	}{
		{"en", "it is moldy and has painted seed", []grading.Flag{grading.Mouldy, grading.TreatedSeed}},
		{"en", "not mouldy but slimy", nil},
		{"fr", "un peu moisi", []grading.Flag{grading.Mouldy}},
		{"fr", "oui", nil},
		{"sw", "kuna ukungu kidogo", []grading.Flag{grading.Mouldy}},
		{"ha", "akwai hunhuna kadan", []grading.Flag{grading.Mouldy}},
	} {
		for _, rest := range []time.Duration{0, 5 * time.Hour} {
			if rest > 0 && c.flags == nil { // then it is no answer
				continue
			}
			h, send := asha(t, c.lang)
			filed := send(unlooked)
			h.world.now = h.world.now.Add(rest)
			page := must(t, h.sms, c.said)
			now := h.world.store.checks[filed.Slip]
			if !sameFlags(now.Readings.Flags, c.flags) || c.flags == nil && now.Readings.Looked != grading.NotLooked {
				t.Errorf("%s, %q after %v: looked %d, %q\n%s", c.lang, c.said, rest, now.Readings.Looked, now.Readings.Flags, page)
			}
			words := h.world.machine.Words
			if c.flags == nil && !strings.Contains(page, words.Text(c.lang, "look.ask")) && !strings.Contains(page, words.Text(c.lang, "look.short")) {
				t.Errorf("%s, %q: the question is on another page:\n%s", c.lang, c.said, page)
			}
		}
	}
}

// A danger that comes as an afterthought, when the grade is shown already, is in the
// same slip, and the coordinator is told of it; words that say nothing change nothing.
func TestADangerAsAnAfterthoughtIsHeard(t *testing.T) {
	for lang, said := range map[string]string{"en": "it is mouldy inside", "fr": "un peu moisi", "sw": "kuna ukungu kidogo", "ha": "akwai hunhuna kadan"} {
		for _, before := range [][]string{nil, {"1"}, {"2"}} {
			h, send := asha(t, lang)
			head(h.world, "+33639985001", "Kisima", func(p *session.Person) { p.Language = session.Language(lang) })
			filed := send(unlooked + " OK")
			for _, entry := range append(before, "hello") {
				must(t, h.sms, entry)
			}
			if now := h.world.store.checks[filed.Slip]; len(now.Readings.Flags) > 0 {
				t.Errorf("%s: %q", lang, now.Readings.Flags)
			}
			told(h.world)
			page := must(t, h.sms, said)
			now := h.world.store.checks[filed.Slip]
			if !sameFlags(now.Readings.Flags, []grading.Flag{grading.Mouldy}) || now.Rank <= now.Of || !strings.Contains(page, string(filed.Slip)) && lang != "fr" {
				t.Errorf("%s, %q after %q: %s, %q\n%s", lang, said, before, now.Grade, now.Readings.Flags, page)
			}
			if alarm := told(h.world)["+33639985001"]; !strings.Contains(alarm, string(filed.Slip)) {
				t.Errorf("%s: the coordinator is told %q", lang, alarm)
			}
		}
	}
}

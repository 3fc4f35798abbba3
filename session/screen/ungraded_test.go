package screen_test

import (
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session"
)

// untilFiled keys in a way through a check by USSD and gives the check that was
// filed and what its answer says, all pages.
func untilFiled(t *testing.T, h *handset, keys ...string) (session.Check, string) {
	t.Helper()
	text := strings.Join(h.pages(t, session.USSD, keys...), " ")
	all, _ := h.world.store.list(1, func(session.Check) bool { return true })
	if len(all) == 0 {
		t.Fatalf("nothing is filed after %q:\n%s", keys, text)
	}
	return all[0], text
}

// What a bite or the salt test found counts: the lot is dried first. Its answer,
// its slip and the list of checks say so in every language; none of them speaks of
// a grade that it may have, or that it is close.
func TestALotThatIsTooWetByHandIsDriedFirst(t *testing.T) {
	for _, lang := range newWorld(t, "mbuyu-hand").machine.Words.Languages() {
		for _, c := range []struct {
			name  string
			test  []string
			flag  grading.Flag
			alert bool
		}{
			{"a grain that crushes", []string{"1", "1"}, grading.VeryWet, true},
			{"a grain that cracks without a sound", []string{"1", "2"}, grading.TooWet, false},
			{"salt that clings", []string{"2", "1"}, grading.TooWet, false},
			{"a hard grain", []string{"1", "4"}, "", false},
		} {
			h, _ := asha(t, lang)
			head(h.world, "+33639985001", "Kisima", func(p *session.Person) { p.Language = session.Language(lang) })
			say := func(key string) string { return h.world.machine.Words.Text(lang, key) }
			keys := append([]string{"1", "8 75", "1", "99", "4"}, c.test...)
			check, text := untilFiled(t, h, append(keys, "1", "200", "1.4 0.2", "155 0.5", "0 0 0", "1", "1")...)
			if check.Readings.WetByHand() != c.flag || c.flag != "" != (check.Grade == grading.WetLot) {
				t.Errorf("%s, %s: %q is filed as %q", lang, c.name, check.Readings.Flags, check.Grade)
			}
			close := strings.Contains(text, strings.Split(say("why.sure"), "{tenths}")[0]) || strings.Contains(text, strings.TrimSpace(strings.ReplaceAll(say("grade.no_better"), "{grade}", "1")))
			dry, _, _ := strings.Cut(say("remedy.dry_sun.do"), " {")
			if c.flag != "" && (close || !strings.Contains(text, say("grade.by_hand")) || !strings.Contains(text, dry)) {
				t.Errorf("%s, %s: it is not to be dried first:\n%s", lang, c.name, text)
			}
			if sell := strings.Join(h.pages(t, session.USSD, "2", "10"), " "); c.flag != "" && strings.Contains(sell, say("ways.sell")) {
				t.Errorf("%s, %s: it may be sold at once:\n%s", lang, c.name, sell)
			}
			if told(h.world)["+33639985001"] != "" != c.alert {
				t.Errorf("%s, %s: the coordinator is told %q", lang, c.name, told(h.world)["+33639985001"])
			}
			buyer := must(t, (&handset{world: h.world, number: "+447700900555"}).sms, string(check.Slip))
			if c.flag != "" && !strings.Contains(buyer, say("grade_name.too_wet")) {
				t.Errorf("%s, %s: a buyer is told\n%s", lang, c.name, buyer)
			}
		}
	}
}

// A lot of which nothing was measured has no grade, on no way in, and is not
// praised; a buyer is told what was not measured.
func TestALotWithoutAReadingHasNoGrade(t *testing.T) {
	for _, lang := range newWorld(t, "mbuyu-hand").machine.Words.Languages() {
		for _, looked := range []string{"1", "99"} {
			h, _ := asha(t, lang)
			say := func(key string) string { return h.world.machine.Words.Text(lang, key) }
			check, text := untilFiled(t, h, "1", "8 75", "1", "99", "2", "99", "2", "2", "99", "2", "99", "2", "99", "2", looked, "1")
			if check.Grade != grading.NoGrade || check.Rank <= check.Of || check.Complete {
				t.Errorf("%s: it is filed as %q, rank %d of %d", lang, check.Grade, check.Rank, check.Of)
			}
			if !strings.Contains(text, say("grade_name.no_grade")) || !strings.Contains(text, say("measure.water")) || strings.Contains(text, say("remedy.keep_well.do")) || strings.Contains(text, say("grade.best")) {
				t.Errorf("%s: its answer is\n%s", lang, text)
			}
			if sell := strings.Join(h.pages(t, session.USSD, "2", "10"), " "); strings.Contains(sell, say("ways.sell")) || !strings.Contains(sell, say("measure.water")) {
				t.Errorf("%s: it may be sold at once:\n%s", lang, sell)
			}
			buyer := must(t, (&handset{world: h.world, number: "+447700900555"}).sms, string(check.Slip))
			missing := strings.ReplaceAll(say("slip.lacks"), "{count}", "7")
			if !strings.Contains(buyer, say("grade_name.no_grade")) || !strings.Contains(buyer, missing) {
				t.Errorf("%s: a buyer is told\n%s", lang, buyer)
			}
		}
	}
}

// Whoever looks a slip up sees what was not measured, and of a whole check how
// sure the grade is, in one message.
func TestABuyerSeesWhatWasNotMeasuredAndHowSureTheGradeIs(t *testing.T) {
	for _, lang := range newWorld(t, "mbuyu-hand").machine.Words.Languages() {
		for _, c := range []struct {
			sent string
			want []string
		}{
			{"M 13.0 13.1 13.0 S 200 O 1.0 I 0.4 B 152.6 T 1.2 P 0 Y 1 R 0 bag 8 OK", []string{"why.sure"}},
			{"M 13.0 13.1 13.0 S 200 O 1.0 I 0.4 B 152.6 T 1.2 P 0 Y 1 R X bag 8 OK", []string{"grade.missing", "parameter.red"}},
			{"M 13.0 13.1 13.0 S X O X I X B X P X Y X R X T X bag 8", []string{"slip.lacks", "look.unlooked"}},
		} {
			h, send := asha(t, lang)
			check := send(c.sent)
			buyer := must(t, (&handset{world: h.world, number: "+447700900555"}).sms, string(check.Slip))
			for _, key := range c.want {
				begin, end, _ := strings.Cut(h.world.machine.Words.Text(lang, key), "{")
				if _, after, ok := strings.Cut(end, "}"); ok && strings.TrimSpace(begin) == "" {
					begin = after
				}
				if !strings.Contains(buyer, strings.TrimSpace(begin)) {
					t.Errorf("%s: no %s in\n%s", lang, key, buyer)
				}
			}
			if n, ok := count(buyer); !ok || n > budget.Septets {
				t.Errorf("%s: %d septets\n%s", lang, n, buyer)
			}
		}
	}
}

package screen_test

import (
	"strings"
	"testing"
	"time"

	"threshline/grading"
	"threshline/session"
)

const unlooked = "M 13.0 13.1 13.0 S 200 O 1.0 I 0.4 B 152.6 T 1.2 P 0 Y 1 R 0 bag 8"

// A lot that nobody looked at is filed at once, is praised nowhere, and is
// completed under the same slip by one short message.
func TestWhatNobodyLookedAtIsNotPraised(t *testing.T) {
	for _, lang := range []string{"en", "fr", "sw", "ha"} {
		for _, c := range []struct {
			answer string
			flags  []grading.Flag
			alarms bool
		}{
			{"OK", nil, false}, {"1", nil, false}, {"2,3", []grading.Flag{grading.Musty, grading.Mouldy}, true}, {"34", []grading.Flag{grading.Mouldy, grading.Warm}, true},
			{"2.3", []grading.Flag{grading.Musty, grading.Mouldy}, true}, {"3 5", []grading.Flag{grading.Mouldy, grading.TreatedSeed}, true},
		} {
			h, send := asha(t, lang)
			text := func(key string) string { return h.world.machine.Words.Text(lang, key) }
			head(h.world, "+33639985001", "Kisima", func(p *session.Person) { p.Language = session.Language(lang) })
			filed := send(unlooked)
			told(h.world)
			page := h.all(t, string(filed.Slip))
			if filed.Readings.Looked != grading.NotLooked || !strings.Contains(page, text("look.unlooked")) {
				t.Errorf("%s: looked is %d, and whoever looks it up is told\n%s", lang, filed.Readings.Looked, page)
			}
			praisedOf := map[string]string{"remedy.keep_well.do": "13.1", "grade.best": "12.9"} // other lots
			for _, praise := range []string{"remedy.keep_well.do", "grade.best"} {
				if asked := h.all(t, strings.Replace(unlooked, "13.0", praisedOf[praise], 1)); strings.Contains(asked, text(praise)) {
					t.Errorf("%s: nobody looked, and it is praised:\n%s", lang, asked)
				}
			}
			filed = send(strings.Replace(unlooked, "13.0", "13.2", 1))
			told(h.world)
			after := send(c.answer)
			if strings.ContainsAny(c.answer, "2") {
				after = send("1") // musty
			}
			if after.Slip != filed.Slip || after.Readings.Looked != grading.WasLooked || !sameFlags(after.Readings.Flags, c.flags) {
				t.Errorf("%s, %q: %s became %s, looked %d, %q", lang, c.answer, filed.Slip, after.Slip, after.Readings.Looked, after.Readings.Flags)
			}
			if alarm := told(h.world)["+33639985001"]; (alarm != "") != c.alarms {
				t.Errorf("%s, %q: the coordinator is told %q", lang, c.answer, alarm)
			}
		}
	}
}

// An answer that comes after hours is not taken for a line of the menu: a danger is
// completed under the slip, and what may be meant for the menu is asked again.
func TestALateAnswerAboutSignsIsNoLineOfTheMenu(t *testing.T) {
	for _, lang := range []string{"en", "fr", "sw", "ha"} {
		text := func(w *world, key string) string { return w.machine.Words.Text(lang, key) }
		mould := map[string]string{"en": "mouldy", "fr": "moisi", "sw": "ukungu", "ha": "hunhuna"}[lang]
		for _, c := range []struct {
			late  string
			again string // what is sent when it is asked again; "" where it is taken at once
			flags []grading.Flag
		}{
			{mould, "", []grading.Flag{grading.Mouldy}}, {"3,5", "", []grading.Flag{grading.Mouldy, grading.TreatedSeed}},
			{"4", "4", []grading.Flag{grading.Warm}}, {"3 5", "3,5", []grading.Flag{grading.Mouldy, grading.TreatedSeed}}, {"1", "1", nil}, {"OK", "3", []grading.Flag{grading.Mouldy}},
		} {
			h, send := asha(t, lang)
			filed := send(unlooked)
			h.world.now = h.world.now.Add(5 * time.Hour)
			page := must(t, h.sms, c.late)
			if now := h.world.store.checks[filed.Slip]; c.again != "" {
				if now.Readings.Looked != grading.NotLooked || len(now.Readings.Flags) > 0 || !strings.Contains(page, text(h.world, "look.ask")) && !strings.Contains(page, text(h.world, "look.short")) {
					t.Errorf("%s, %q after hours: %+v\n%s", lang, c.late, now.Readings, page)
				}
				must(t, h.sms, c.again)
			}
			now := h.world.store.checks[filed.Slip]
			if now.Readings.Looked != grading.WasLooked || !sameFlags(now.Readings.Flags, c.flags) {
				t.Errorf("%s, %q and %q after hours: looked %d, %q", lang, c.late, c.again, now.Readings.Looked, now.Readings.Flags)
			}
			if menu := h.all(t, "menu"); !strings.Contains(menu, text(h.world, "menu.mine")) {
				t.Errorf("%s: the menu is\n%s", lang, menu)
			}
		}
	}
}

// A number that nobody understands may count insects, as that of an old card does:
// the signs are asked, whatever else was said, and it is no weight of a bag.
func TestANumberThatIsNotUnderstoodIsNotPraised(t *testing.T) {
	for _, c := range []struct{ lang, message string }{
		{"fr", "H 13 13,1 13,2 E 200 balle 1 cailloux 0,4 CG 152,6 IM 1,2 P 0 J 1 R 0 IN 3 SAC 8 OK"},
		{"fr", "H 13 13,1 13,2 E 200 balle 1 cailloux 0,4 CG 152,6 IM 1,2 P 0 J 1 R 0 SAC 8 IN 3 OK"},
		{"fr", "H 13 13,1 13,2 E 200 balle 1 cailloux 0,4 CG 152,6 IM 1,2 P 0 J 1 R 0 SAC 8 IN 30"},
		{"en", unlooked + " 75 3 OK"}, {"sw", unlooked + " 75 3 OK"}, {"ha", unlooked + " 75 3 OK"},
	} {
		w := newWorld(t, "mbuyu-hand", session.Language(c.lang))
		h := known(w, "+33639985603", session.Grower)
		p := w.store.people["known +33639985603"]
		p.Language = session.Language(c.lang)
		w.store.people[p.ID] = p
		page := must(t, h.sms, c.message)
		d := w.store.dialogues[h.number]
		if len(w.store.checks) > 0 || d.Screen != "seen" || d.Drafts[0].Lot.BagKG != 75*grading.One {
			t.Errorf("%s %q is at %q: %+v\n%s", c.lang, c.message, d.Screen, d.Drafts, page)
		}
	}
}

func sameFlags(a, b []grading.Flag) bool {
	r, o := grading.Readings{Flags: a}, grading.Readings{Flags: b}
	return r.Same(&o)
}

// An "all good" behind a danger takes it not back, and 99 neither.
func TestAllGoodTakesNoDangerBack(t *testing.T) {
	_, send := asha(t, "en")
	filed := send(unlooked + " weevils 2")
	after := send("OK")
	if weevils, _ := after.Readings.Get(grading.LiveWeevils); after.Slip != filed.Slip || weevils != grading.NewDecimal(2) {
		t.Errorf("weevils are %s", weevils)
	}
}

// What was keyed for a bad smell is told apart, and is musty till then.
func TestASmellOfChemicalsIsNoFood(t *testing.T) {
	h, send := asha(t, "en")
	head(h.world, "+33639985001", "Kisima", func(*session.Person) {})
	filed := send(unlooked)
	if mid := send("2"); !sameFlags(mid.Readings.Flags, []grading.Flag{grading.Musty}) {
		t.Errorf("before it is told apart: %q", mid.Readings.Flags)
	}
	after := send("2")
	if after.Slip != filed.Slip || !sameFlags(after.Readings.Flags, []grading.Flag{grading.OffOdour}) || after.Rank <= after.Of {
		t.Errorf("%q, %s", after.Readings.Flags, after.Grade)
	}
	if page := h.all(t, string(after.Slip)); !strings.Contains(page, "chemical") || !strings.Contains(page, "Not to be eaten") {
		t.Errorf("whoever looks it up is told\n%s", page)
	}
	if alarm := told(h.world)["+33639985001"]; !strings.Contains(alarm, "chemical") {
		t.Errorf("the coordinator is told %q", alarm)
	}
}

// A plain yes to whether anything is seen or smelt says that there is something:
// it is asked which, and never taken for "all good".
func TestAPlainYesIsNotAllGood(t *testing.T) {
	for lang, word := range map[string]string{"en": "yes", "fr": "oui", "sw": "ndiyo", "ha": "eh"} {
		_, send := asha(t, lang)
		filed := send(unlooked)
		if after := send(word); after.Slip != filed.Slip || after.Readings.Looked == grading.WasLooked {
			t.Errorf("%s: %q was taken for all good", lang, word)
		}
	}
}

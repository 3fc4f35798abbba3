package screen_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// A coordinator is told of every lot to visit whose it is, where and why, in every
// language and by either kind of channel, with the rest behind 9; what was
// withdrawn meanwhile is left out, and what a phone does not list is counted.
func TestLotsToVisitAreTold(t *testing.T) {
	for _, lang := range newWorld(t, "mbuyu-hand").machine.Words.Languages() {
		for kind, district := range map[session.Kind]string{session.USSD: "Upper Mbuyu", session.SMS: ""} {
			w, h := coordinated(t, session.Language(lang), func(p *session.Person) { p.District = district })
			w.machine.Programme.Languages = []session.Language{session.Language(lang)}
			var slips []session.Slip
			for i := range 29 {
				id := session.PersonID(fmt.Sprintf("g%d", i))
				w.store.people[id] = session.Person{ID: id, Role: session.Grower, Name: fmt.Sprintf("Mwanahamisi-Ramadhani %c", 'A'+i), Language: "en"}
				c := session.Check{
					Slip: session.NewSlip(uint64(i + 1)), State: session.Filed, At: w.now,
					Lot: session.Lot{Grower: id, District: "Upper Mbuyu", Village: "Wanging'ombe Kaskazini", Bags: 8},
				}
				c.Readings.Flags = []grading.Flag{grading.Mouldy, grading.TreatedSeed, grading.OffOdour, grading.Warm}
				c.Readings.Set(grading.Moisture, 25*grading.One)
				c.Readings.Set(grading.LiveWeevils, 3*grading.One)
				if i == 7 {
					c.State = session.Withdrawn
				}
				w.store.checks[c.Slip] = c
				slips = append(slips, c.Slip)
			}
			weeks := longestWeeks(district)
			week := weeks.Running.Districts[district]
			week.Newest, week.Visits = slips, 29+11
			weeks.Running.Districts[district] = week
			w.machine.Weeks = func() *programme.Weeks { return weeks }
			send, more := h.sms, w.machine.Words.Text(lang, "foot.more")
			if kind == session.USSD {
				send = h.key
				if _, err := h.dial(); err != nil {
					t.Fatal(err)
				}
			}
			page := must(t, send, "10")
			all := []string{page}
			for strings.Contains(page, more) && len(all) < 60 {
				page = must(t, send, "9")
				all = append(all, page)
			}
			for _, page := range all {
				if n, ok := count(page); !ok || n > budget.Septets {
					t.Errorf("%s, %s: %d septets\n%s", lang, kind, n, page)
				}
			}
			text := strings.Join(strings.Fields(strings.ReplaceAll(strings.Join(all, " "), more, "")), " ")
			for i, slip := range slips {
				line := fmt.Sprintf("%s Mwanahamisi-Ramadhani %c, Wanging'ombe Kaskazini", slip, 'A'+i)
				if strings.Contains(text, line) == (i == 7) {
					t.Errorf("%s, %s: lot %d: %q\n%s", lang, kind, i, line, text)
				}
			}
			says := []string{w.machine.Words.Text(lang, "flag.mouldy"), w.machine.Words.Text(lang, "week.more", "count", 11)}
			if district == "" {
				says = append(says, "Kaskazini, Upper Mbuyu")
			}
			for _, want := range says {
				if !strings.Contains(text, want) {
					t.Errorf("%s, %s: no %q in\n%s", lang, kind, want, text)
				}
			}
		}
	}
}

// The digest of Monday names the newest few alone, by their slips.
func TestADigestNamesAFewLots(t *testing.T) {
	w, h := coordinated(t, "en", nil)
	weeks := longestWeeks("Upper Mbuyu")
	week := weeks.Whole.Districts["Upper Mbuyu"]
	week.Deciding, week.Remedy, week.Visits, week.ByHand = "", "", 29, 0
	week.Newest = slices.Repeat([]session.Slip{"7KX3M9A"}, 29)
	weeks.Whole.Districts["Upper Mbuyu"] = week
	w.machine.Weeks = func() *programme.Weeks { return weeks }
	if text := digestOf(t, w, h, monday); !strings.Contains(text, "To visit: 29 (7KX3M9A 7KX3M9A 7KX3M9A).") {
		t.Error(text)
	}
}

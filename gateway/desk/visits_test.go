package desk_test

import (
	"strings"
	"testing"
	"time"

	"threshline/grading"
	"threshline/session"
)

// The first page lists the lots in danger of the last seven days, newest first,
// and to a coordinator only those of their districts.
func TestTheFirstPageSaysWhichLotsNeedAVisit(t *testing.T) {
	h := newHouse(t)
	h.people()
	mouldy, infested, wet, sound, old := h.check(1, "Kisima", reading(132, 45, 4)), h.check(2, "Upper", reading(132, 45, 4)),
		h.check(3, "Kisima", reading(191, 45, 4)), h.check(4, "Kisima", reading(132, 45, 4)), h.check(5, "Kisima", reading(191, 45, 4))
	mouldy.Readings.Flags = []grading.Flag{grading.Musty, grading.Mouldy}
	infested.Readings.Set(grading.LiveWeevils, grading.One)
	for i, c := range []*session.Check{&old, &mouldy, &infested, &wet, &sound} {
		c.At = begin.Add(time.Duration(i) * time.Hour)
	}
	old.At = begin.AddDate(0, 0, -7)
	mended := sound
	mended.Slip, mended.Recheck, mended.At = session.NewSlip(99), wet.Slip, sound.At.Add(time.Hour)
	h.put(session.Writes{Checks: []session.Check{mouldy, infested, wet, sound, old}})

	h.later(6 * time.Hour)
	admin := h.administrator()
	visits := func(c *caller) string {
		_, after, _ := strings.Cut(c.get("/desk/").Body, "<h2>Who needs a visit</h2>")
		section, _, _ := strings.Cut(after, "</table>")
		return section
	}
	inOrder(t, visits(admin), string(wet.Slip), "Kisima", "too wet", string(infested.Slip), "Upper Mbuyu", "live insects", string(mouldy.Slip), "mould and musty, sour or fermented smell")
	for _, slip := range []session.Slip{sound.Slip, old.Slip} {
		if strings.Contains(visits(admin), string(slip)) {
			t.Errorf("%s is listed", slip)
		}
	}
	kisima := h.member(admin, "of.kisima", session.DeskCoordinator, "Kisima")
	if section := visits(kisima); strings.Contains(section, string(infested.Slip)) || !strings.Contains(section, string(wet.Slip)) {
		t.Errorf("to a coordinator of Kisima:\n%s", section)
	}
	h.put(session.Writes{Checks: []session.Check{mended}})
	if section := visits(admin); strings.Contains(section, string(wet.Slip)) || !strings.Contains(section, string(mouldy.Slip)) {
		t.Errorf("after the wet lot was checked again, dry:\n%s", section)
	}
}

// inOrder fails unless a text holds the words one after the other.
func inOrder(t *testing.T, text string, words ...string) {
	t.Helper()
	rest := text
	for _, word := range words {
		_, after, found := strings.Cut(rest, word)
		if !found {
			t.Errorf("%q does not come in its place in:\n%s", word, text)
			return
		}
		rest = after
	}
}

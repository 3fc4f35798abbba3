package desk_test

import (
	"regexp"
	"strconv"
	"strings"
	"testing"

	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session"
	"threshline/session/wording"
)

// The desk speaks English, and writes its numbers as the phone does in English.
func TestTheDeskWritesNumbersAsThePhoneDoes(t *testing.T) {
	words, err := wording.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range []int{0, 7, 999, 1234, 9999, 10_000, 123_456, 1_234_567, -12_345} {
		if got, want := paper.Count(n), words.Number("en", strconv.Itoa(n)); got != want {
			t.Errorf("%d is %q at the desk and %q on the phone", n, got, want)
		}
	}
	if got, want := paper.Percent(0.0625), words.Number("en", "6.2")+words.Text("en", "unit.percent"); got != want {
		t.Errorf("1 of 16 is %q at the desk and %q on the phone", got, want)
	}
	if got, want := paper.Money(1234567.4), words.Number("en", "1234567"); got != want {
		t.Errorf("an amount is %q at the desk and %q on the phone", got, want)
	}
	h := newHouse(t)
	h.manyKinds()
	h.programme.Advice.DayWage, h.programme.Advice.OutPrice = 15000*grading.One, 12500*grading.One
	heavy := h.check(3000, "Kisima", reading(150, 10, 1))
	heavy.Lot.Bags, heavy.Lot.KG = 200, 15000*grading.One
	lighter := h.recheck(3001, heavy, reading(140, 10, 1))
	lighter.Lot.KG = 14800 * grading.One
	h.put(session.Writes{Checks: []session.Check{heavy, lighter}})
	admin := h.administrator()
	holds(t, admin.get("/desk/settings").Body, "15,000", "12,500")
	holds(t, admin.get("/desk/lots/"+string(lighter.Slip)).Body, "15,000.0", "14,800.0")
	apart, unlike := regexp.MustCompile(`[0-9][ \x{202f}\x{a0}]%`), regexp.MustCompile(`[0-9][\x{202f}\x{a0}][0-9]{3}`)
	for _, path := range append([]string{"/desk/lots/" + string(h.check(0, "Kisima", reading(130, 10, 1)).Slip)}, pages...) {
		_, body, _ := strings.Cut(admin.get(path).Body, "<main")
		for _, wrong := range []*regexp.Regexp{apart, unlike} {
			if at := wrong.FindStringIndex(body); at != nil {
				t.Errorf("%s writes %q", path, body[max(0, at[0]-40):min(len(body), at[1]+10)])
			}
		}
	}
}

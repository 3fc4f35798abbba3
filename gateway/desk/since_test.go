package desk_test

import (
	"strings"
	"testing"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/standard"
	"threshline/session"
)

// recheck makes a re-check of c with other readings.
func (h *house) recheck(i int, c session.Check, r grading.Readings) session.Check {
	h.t.Helper()
	again := h.check(i, c.Lot.District, r)
	again.Recheck, again.Lot = c.Slip, c.Lot
	return again
}

// holds fails the test for each text that a page lacks, and for each that it has
// after a "not ".
func holds(t *testing.T, body string, texts ...string) {
	t.Helper()
	body = strings.ReplaceAll(body, "\u202f", " ")
	for _, text := range texts {
		if not, ok := strings.CutPrefix(text, "not "); ok == strings.Contains(body, strings.TrimSpace(not)) {
			_, main, _ := strings.Cut(body, "<main")
			t.Errorf("the page does not keep %q:\n%s", text, main)
		}
	}
}

// TestALotsPageSaysWhatARecheckShows: 600 kg at 34 are 20,400. From 25% to 14%
// 1000 kg become 872 ([IRRI-MC]), and 600 kg 523.3; at 58 they are 30,349.
func TestALotsPageSaysWhatARecheckShows(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	h.people()
	wet := h.check(0, "Kisima", reading(250, 10, 1))
	dry := h.recheck(30, wet, reading(140, 10, 1))
	h.put(session.Writes{Checks: []session.Check{wet, dry}})
	holds(t, admin.get("/desk/lots/"+string(dry.Slip)).Body,
		"<h2>Since the check before</h2>", "It rose from Below grade to Grade 1.", "about 9949 MVS more", "are subtracted", "The work is not included",
		`<tr><th scope="row">Moisture</th><td class="n">25.0</td><td class="n">14.0</td><td>% wet basis</td><td>yes</td></tr>`,
		`<th scope="row">Weight of the lot</th><td class="n">600.0</td><td class="n">523.3</td><td>kg</td><td>reckoned</td>`,
		"not Look again")
	holds(t, admin.get("/desk/lots/"+string(wet.Slip)).Body,
		`The lot was checked again: <a href="/desk/lots/`+string(dry.Slip), "not Since the check before")
}

func TestALotsPageDoubtsThatItIsTheSameLot(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	h.people()
	first := h.check(0, "Kisima", reading(130, 10, 1))
	more := h.recheck(1, first, reading(150, 10, 1))
	more.Lot.KG += 100 * grading.One
	other := h.recheck(2, first, reading(130, 10, 1))
	other.Edition = "another"
	h.put(session.Writes{Checks: []session.Check{first, more, other}})
	holds(t, admin.get("/desk/lots/"+string(more.Slip)).Body,
		"Look again", "weighs more than before by over 1%", "It took up water.", "not Earned")
	holds(t, admin.get("/desk/lots/"+string(other.Slip)).Body, "graded by different tables", "not It rose", "not Its grade is")
}

// TestALotsPageSaysThatSamplesWereTakenTogether: 3 of 100 red and 1 of 100 are 4
// of 200.
func TestALotsPageSaysThatSamplesWereTakenTogether(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	h.people()
	one, two := reading(130, 10, 3), reading(131, 10, 1)
	first := h.check(0, "Kisima", one)
	first.Remedy, first.Borderline = advice.MeasureAgain, true
	both, err := grading.Combine(h.programme.Standard, one, two)
	if err != nil {
		t.Fatal(err)
	}
	second := h.recheck(1, first, both.Readings)
	second.Sample = two
	alone := h.recheck(24*30, first, two)
	withdrawn := h.check(2, "Kisima", one)
	withdrawn.Remedy, withdrawn.Borderline, withdrawn.State = advice.MeasureAgain, true, session.Withdrawn
	fallen := h.recheck(3, withdrawn, both.Readings)
	fallen.Sample = two
	h.put(session.Writes{Checks: []session.Check{first, second, alone, withdrawn, fallen}})
	holds(t, admin.get("/desk/lots/"+string(fallen.Slip)).Body,
		"It counts the sample of "+string(withdrawn.Slip), "its grade no longer holds", "not It rose")
	holds(t, admin.get("/desk/lots/"+string(second.Slip)).Body, "not no longer holds")
	holds(t, admin.get("/desk/lots/"+string(second.Slip)).Body,
		"another sample of it", "It rose from Grade 2", "not MVS more", "What the last sample alone gave",
		`<th scope="row">Red grains</th><td class="n">3.0</td><td class="n">2.0</td>`)
	holds(t, admin.get("/desk/lots/"+string(alone.Slip)).Body, "this sample stands alone: the first was more than two weeks old.")
}

// TestALotsPageShowsWhatThePriceRulesTake: the buyer's steps of [TN-2022], 2%
// above 18% and up to 19; and those of [GB-1350], 0.65% of the weight for every
// full half point over 14.5.
func TestALotsPageShowsWhatThePriceRulesTake(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	h.people()
	h.programme.Advice.Deductions = advice.TamilNadu2022()
	wet := h.check(0, "Kisima", reading(185, 10, 1))
	soaked := h.check(1, "Kisima", reading(205, 10, 1))
	h.put(session.Writes{Checks: []session.Check{wet, soaked}})
	holds(t, admin.get("/desk/lots/"+string(wet.Slip)).Body,
		"<h2>Price</h2>", "2% off over 18 up to 19", `<td class="n">18.5</td><td>-2% of the price</td><td>the programme’s settings</td>`)
	holds(t, admin.get("/desk/lots/"+string(soaked.Slip)).Body, "<td>not taken so wet</td>")

	s, err := standard.ByID("gb1350-japonica")
	if err != nil {
		t.Fatal(err)
	}
	h.programme.Standard, h.programme.Advice.Deductions = s, nil
	r := grading.Readings{Values: map[grading.ParameterID]grading.Decimal{"moisture": 155 * grading.One / 10, "impurities": 1 * grading.One}}
	c := h.check(2, "Kisima", r)
	c.At = c.At.Add(time.Hour)
	h.put(session.Writes{Checks: []session.Check{c}})
	holds(t, admin.get("/desk/lots/"+string(c.Slip)).Body, `<td class="n">15.5</td><td>-1.3% of the weight</td>`, "[GB-1350]")
}

// TestALotsPageTellsNothingOfAnotherDistrict: the lot was checked in Upper Mbuyu
// before it came to Kisima.
func TestALotsPageTellsNothingOfAnotherDistrict(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	h.people()
	before := h.check(0, "Upper Mbuyu", reading(177, 10, 1))
	now := h.recheck(1, before, reading(130, 10, 1))
	now.Lot.District = "Kisima"
	h.put(session.Writes{Checks: []session.Check{before, now}})
	path := "/desk/lots/" + string(now.Slip)
	holds(t, admin.get(path).Body, "Since the check before", "17.7")
	holds(t, h.member(admin, "kisima.one", session.DeskCoordinator, "Kisima").get(path).Body, "not Since the check before", "not 17.7")
	upper := h.member(admin, "upper.one", session.DeskCoordinator, "Upper Mbuyu")
	holds(t, upper.get("/desk/lots/"+string(before.Slip)).Body, "not "+string(now.Slip))
}

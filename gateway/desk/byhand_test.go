package desk_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"threshline/grading"
	"threshline/session"
)

// byHand makes a check by hand of the lot of a check with the kit, an hour before
// it, and ties the other to it.
func (h *house) byHand(i int, kit *session.Check, empty uint16) session.Check {
	hand := *kit
	hand.Slip, hand.At, hand.Started = session.NewSlip(uint64(500_000+i)), kit.At.Add(-time.Hour), kit.At.Add(-70*time.Minute)
	hand.Paces, hand.Recheck = nil, ""
	hand.Readings = grading.Readings{Looked: grading.WasLooked, Hand: grading.Hand{Grains: 200, Empty: empty, Stones: 1, Green: 6, Husked: 50, Red: 4, Discoloured: 1, Handfuls: 3}}
	hand.Grade, hand.Rank, hand.Of, hand.Complete, hand.Confidence, hand.Borderline = "", 0, 0, false, 0, false
	hand.Deciding, hand.Missing, hand.Gates, hand.Values, hand.Remedy, hand.Becomes, hand.BecomesRank = nil, nil, nil, nil, "", "", 0
	kit.Recheck = hand.Slip
	return hand
}

func TestACheckByHandIsSaidToBeOne(t *testing.T) {
	h := newHouse(t)
	h.people()
	kit := h.check(1, "Kisima", reading(132, 45, 4))
	hand := h.byHand(1, &kit, 30)
	h.put(session.Writes{Checks: []session.Check{hand}})
	admin := h.administrator()
	holds(t, admin.get("/desk/lots/"+string(hand.Slip)).Body, "By hand: likely", "Grains counted off by hand", "check by hand")
	holds(t, admin.get("/desk/lots").Body, string(hand.Slip), "By hand: likely", `href="/desk/hands"`)
	holds(t, admin.get("/desk/").Body, "No check matches", "1 check by hand, of 1 lot of 1 grower, in none of these figures.", `href="/desk/hands"`)
	holds(t, admin.get("/desk/hands").Body, "No lot was checked by hand and then with the kit", "Kisima")
	h.put(session.Writes{Checks: []session.Check{kit}})
	page := admin.get("/desk/lots/" + string(kit.Slip)).Body
	holds(t, page, "re-check of", "not Since the check before")
	for _, format := range []string{"csv", "jsonl"} {
		body := admin.get("/desk/export/file?format=" + format).Body
		holds(t, body, "by_hand", string(hand.Slip), "200 30 1 6 50 4 0 1")
	}
	holds(t, admin.get("/desk/lots?only=by_hand").Body, string(hand.Slip), "not "+string(kit.Slip), "by hand only")
	if csv := admin.get("/desk/export/file?format=csv&only=by_hand").Body; !strings.Contains(csv, string(hand.Slip)) || strings.Contains(csv, "\n"+string(kit.Slip)) {
		t.Errorf("an export of checks by hand alone holds\n%s", csv)
	}
	holds(t, admin.get("/desk/grades?only=by_hand").Body, "not by hand only")
	if !strings.Contains(admin.get("/desk/export/file?format=jsonl").Body, `"by_hand":true`) {
		t.Error("JSON Lines do not say which check is by hand")
	}
}

// pairs files a dozen checks by hand, each with one with the kit after it; the last
// comes too late to say anything of hands.
func (h *house) pairs() []session.Check {
	h.people()
	var checks []session.Check
	for i := range 12 {
		kit := h.check(i*9, districts[i%2], reading(128, int64(8+i*9), int64(i%7)))
		hand := h.byHand(i, &kit, uint16(4+i*5))
		if i == 11 {
			kit.At = kit.At.AddDate(0, 0, 5)
		}
		checks = append(checks, hand, kit)
	}
	h.put(session.Writes{Checks: checks})
	return checks
}

func TestThePageOfPairsSaysHowWellHandsDid(t *testing.T) {
	h := newHouse(t)
	h.pairs()
	admin := h.administrator()
	a := admin.get("/desk/hands")
	if a.Status != http.StatusOK {
		t.Fatal(a.Status)
	}
	holds(t, a.Body, "11 lots were checked by hand", "1 pair over three days apart", "12 checks by hand")
	kisima := h.member(admin, "of.kisima", session.DeskCoordinator, "Kisima")
	holds(t, kisima.get("/desk/hands").Body, "not Upper Mbuyu", "6 checks by hand")
}

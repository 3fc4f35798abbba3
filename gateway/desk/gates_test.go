package desk_test

import (
	"testing"

	"threshline/grading"
	"threshline/session"
)

// What stopped a lot is said by what was seen, not by the name of a rule.
func TestALotIsHeldDownByWhatWasSeen(t *testing.T) {
	h := newHouse(t)
	h.people()
	r := reading(130, 10, 1)
	r.Flags, r.Looked = []grading.Flag{grading.TreatedSeed}, grading.WasLooked
	c := h.check(0, "Kisima", r)
	h.put(session.Writes{Checks: []session.Check{c}})
	admin := h.administrator()
	holds(t, admin.get("/desk/lots").Body, "<td>treated seed</td>", "not <td>unsafe</td>")
	holds(t, admin.get("/desk/lots/"+string(c.Slip)).Body, ": treated seed", "not : unsafe")
	holds(t, admin.get("/desk/limits").Body, "or treated seed", "not >unsafe<")
}

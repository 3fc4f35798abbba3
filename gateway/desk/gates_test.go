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

// A lot of which nothing was measured, and one that a bite found too wet, have no
// grade of the ladder: on the list, on their page and in what is taken away.
func TestALotWithoutAGradeSaysWhy(t *testing.T) {
	h := newHouse(t)
	h.people()
	none, wet := grading.Readings{Looked: grading.WasLooked}, reading(130, 10, 1)
	wet.Repeats, wet.Flags, wet.Looked = nil, []grading.Flag{grading.VeryWet}, grading.WasLooked
	checks := []session.Check{h.check(0, "Kisima", none), h.check(1, "Kisima", wet)}
	h.put(session.Writes{Checks: checks})
	admin := h.administrator()
	holds(t, admin.get("/desk/lots").Body, "<td>No grade</td>", "<td>nothing was measured</td>", "<td>Too wet</td>", "<td>very wet, by bite</td>", "not no better than")
	for i, want := range []string{"No grade", "Too wet"} {
		holds(t, admin.get("/desk/lots/"+string(checks[i].Slip)).Body, want, "not no better than")
		holds(t, admin.get("/desk/export/file?format=csv").Body, ","+want+",")
	}
}

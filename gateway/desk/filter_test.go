package desk_test

import (
	"net/http"
	"testing"

	"threshline/session"
)

// TestAFilterThatCannotBeIsRefused: a criterion that is not understood must not
// quietly show, or export, more than was asked for.
func TestAFilterThatCannotBeIsRefused(t *testing.T) {
	h := newHouse(t)
	h.season(12)
	admin := h.administrator()
	for _, query := range []string{"kind=recheck", "state=gone", "only=sure", "from=2026-11-31", "from=2026-11-20&to=2026-11-19"} {
		for _, path := range []string{"/desk/?", "/desk/lots?", "/desk/export?", "/desk/export/file?format=csv&"} {
			if a := admin.get(path + query); a.Status != http.StatusBadRequest {
				t.Errorf("%s%s: status %d, want 400", path, query, a.Status)
			}
		}
	}
	for _, query := range []string{"kind=re-check", "state=any", "only=lacking", "from=2026-11-19&to=2026-11-19"} {
		if a := admin.get("/desk/?" + query); a.Status != http.StatusOK {
			t.Errorf("%s: status %d", query, a.Status)
		}
	}
}

func TestAFilterByStandardSaysItsEdition(t *testing.T) {
	h := newHouse(t)
	h.season(12)
	s := h.programme.Standard
	holds(t, h.administrator().get("/desk/export/file?format=csv&standard="+s.ID+"%7C"+s.Edition).Body, "standard "+s.ID+", "+s.Edition)
}

// TestALotWeighsOnceHoweverOftenItIsChecked: two lots of 600 kg, one of them
// checked again.
func TestALotWeighsOnceHoweverOftenItIsChecked(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	h.people()
	first, other := h.check(0, "Kisima", reading(150, 10, 1)), h.check(1, "Kisima", reading(130, 10, 1))
	h.put(session.Writes{Checks: []session.Check{first, other, h.recheck(24, first, reading(135, 10, 1))}})
	kg := (2 * first.Lot.KG).Fixed(0)
	if first.Lot.KG != other.Lot.KG || kg != "1200" {
		t.Fatalf("the two lots weigh %s kg", kg)
	}
	holds(t, admin.get("/desk/").Body, "3 checks, 2 of them the newest of their lot, 1200 kg in those, from")
	holds(t, admin.get("/desk/?kind=last").Body, "2 checks of 2 lots, 1200 kg, from")
	holds(t, admin.get("/desk/?kind=first").Body, "2 checks of 2 lots, 1200 kg, on")
	holds(t, admin.get("/desk/grades").Body, `<th scope="row">Moisture</th><td>% wet basis</td><td class="n">1</td><td class="n">15.00</td>`)
}

// TestOneValueIsDrawnAgainstItsLimits: a single bar stands among all limits.
func TestOneValueIsDrawnAgainstItsLimits(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	h.people()
	h.put(session.Writes{Checks: []session.Check{h.check(0, "Kisima", reading(190, 10, 1))}})
	holds(t, admin.get("/desk/limits").Body, `>Grade 1, Grade 2</text>`, `>Grade 3</text>`)
}

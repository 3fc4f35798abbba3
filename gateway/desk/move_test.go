package desk_test

import (
	"net/http"
	"strings"
	"testing"

	"threshline/session"
)

// TestTheDeskMakesACodeForANewNumber asks for one as whoever may, and as others.
func TestTheDeskMakesACodeForANewNumber(t *testing.T) {
	h := newHouse(t)
	h.people()
	admin := h.administrator()
	kisima := h.member(admin, "of.kisima", session.DeskCoordinator, "Kisima")
	viewer := h.member(admin, "looks.on", session.DeskViewer)
	if a := kisima.get("/desk/growers/a-kisima"); !strings.Contains(a.Body, "Make a code for a new number") {
		t.Errorf("a coordinator of the district is offered none:\n%s", a.Body)
	}
	a := kisima.post("/desk/growers/a-kisima/code", nil)
	code := codeIn(t, a)
	if _, ok := session.ParseCode(code); !ok {
		t.Errorf("%q is no code", code)
	}
	err := h.store.Read(t.Context(), func(v session.View) error {
		i, err := v.Invite(code)
		if i.Person != "a-kisima" || i.Used || !i.Expires.After(begin) {
			t.Errorf("the code is for %+v", i)
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
	if notes := strings.Join(h.notes(), "\n"); !strings.Contains(notes, "coordinator of.kisima: made a code for a new number: a-kisima") || strings.Contains(notes, code) {
		t.Errorf("the log:\n%s", notes)
	}
	if a := kisima.get("/desk/growers/a-kisima"); strings.Contains(a.Body, code) {
		t.Error("the code is shown again")
	}
	for what, c := range map[string]struct {
		*caller
		path string
		want int
	}{
		"a coordinator of another district": {kisima, "/desk/growers/a-upper/code", http.StatusNotFound},
		"a viewer":                          {viewer, "/desk/growers/a-kisima/code", http.StatusForbidden},
		"nobody":                            {h.caller(), "/desk/growers/a-kisima/code", http.StatusUnauthorized},
		"for nobody":                        {admin, "/desk/growers/no-such/code", http.StatusNotFound},
	} {
		if a := c.post(c.path, nil); a.Status != c.want {
			t.Errorf("%s: status %d, want %d", what, a.Status, c.want)
		}
	}
}

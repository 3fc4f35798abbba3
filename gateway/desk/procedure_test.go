package desk_test

import (
	"strings"
	"testing"

	"threshline/session"
)

// Where checks were made by several editions of the procedure the season says so,
// and one of them can be chosen; a lot's page names its own.
func TestTheDeskTellsEditionsOfTheProcedureApart(t *testing.T) {
	h := newHouse(t)
	checks, c := h.season(40), h.administrator()
	const several, option = "several editions of the procedure", "procedure 1</option>"
	holds(t, c.get("/desk/lots/"+string(checks[0].Slip)).Body, "<dt>Procedure</dt><dd>edition 2</dd>")
	if page := c.get("/desk/").Body; strings.Contains(page, several) || strings.Contains(page, option) {
		t.Error("one edition is said to be several")
	}
	for i := range checks[:15] {
		checks[i].Procedure, checks[i].Version = 1, 1
	}
	h.put(session.Writes{Checks: checks[:15]})
	holds(t, c.get("/desk/").Body, several, option, "choose one under Standard")
	chosen := c.get("/desk/?standard=" + checks[0].StandardID + "%7C" + checks[0].Edition + "%7C1").Body
	holds(t, chosen, "15 checks", ", procedure 1")
	if strings.Contains(chosen, several) {
		t.Error("the filter leaves several")
	}
	holds(t, c.get("/desk/lots/"+string(checks[0].Slip)).Body, "edition 1; checks made now are of edition 2")
	if status := c.get("/desk/?standard=a%7Cb%7Cc").Status; status != 400 {
		t.Errorf("an edition that is no number: status %d", status)
	}
}

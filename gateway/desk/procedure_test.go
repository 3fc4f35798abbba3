package desk_test

import (
	"regexp"
	"strings"
	"testing"

	"threshline/session"
)

// Where checks were made by several editions of the procedure, figures are of the
// newest; those of another stand apart and can be looked at. A list has them all,
// and a lot's page names its own.
func TestTheDeskTellsEditionsOfTheProcedureApart(t *testing.T) {
	h := newHouse(t)
	checks, c := h.season(40), h.administrator()
	const apart, option = "not in these figures", `<option value="1">edition 1</option>`
	holds(t, c.get("/desk/lots/"+string(checks[0].Slip)).Body, "<dt>Procedure</dt><dd>edition 2</dd>")
	before := map[string]string{}
	for _, page := range figurePages {
		before[page] = figuresOf(c.get(page).Body)
		if body := c.get(page).Body; strings.Contains(body, apart) || strings.Contains(body, option) {
			t.Errorf("%s: one edition is said to be several", page)
		}
	}
	older := checks[:15]
	for i := range older {
		older[i].Procedure, older[i].Version = 1, 1
	}
	h.put(session.Writes{Checks: older})
	for _, page := range figurePages {
		both := c.get(page).Body
		holds(t, both, "15 checks by edition 1 of the procedure are apart, and "+apart)
		newest, others := figuresOf(c.get(page+"?procedure=2").Body), figuresOf(c.get(page+"?procedure=1").Body)
		if figuresOf(both) != newest || newest == before[page] || newest == others {
			t.Errorf("%s: its figures are not those of the newest edition alone", page)
		}
	}
	holds(t, c.get("/desk/").Body, option, "<p class=\"lead\">25 checks", `href="/desk/?procedure=1">Look at them`, "procedure=2")
	chosen := c.get("/desk/?procedure=1").Body
	holds(t, chosen, "15 checks", "procedure 1")
	if strings.Contains(chosen, apart) {
		t.Error("the edition that was chosen is said to be apart")
	}
	for _, list := range []string{"/desk/lots", "/desk/export"} {
		holds(t, c.get(list).Body, "40 checks")
	}
	holds(t, c.get("/desk/lots/"+string(older[0].Slip)).Body, "edition 1; checks made now are of edition 2")
	if status := c.get("/desk/?procedure=c").Status; status != 400 {
		t.Errorf("an edition that is no number: status %d", status)
	}
}

// figurePages are the pages with figures of lots.
var figurePages = []string{"/desk/", "/desk/grades", "/desk/limits", "/desk/districts", "/desk/what-if", "/desk/report"}

var (
	links   = regexp.MustCompile(`href="[^"]*"`)
	figures = regexp.MustCompile(`<dl class="figures">|<figure|<table`)
)

// figuresOf is a page from its first figures on, without its links.
func figuresOf(body string) string {
	return links.ReplaceAllString(body[figures.FindStringIndex(body)[0]:], "")
}

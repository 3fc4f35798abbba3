package desk_test

import (
	"regexp"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session"
)

var slipRow = regexp.MustCompile(`<th scope="row"><a href="/desk/lots/[0-9A-Z]{7}">`)

// A printed list holds every row that was asked for, or says that it does not.
func TestEveryRowIsThereToPrint(t *testing.T) {
	h := newHouse(t)
	h.season(120)
	var wet []session.Check
	for i := range 13 {
		r := reading(130, 10, 1)
		r.Set(grading.LiveOthers, grading.One)
		wet = append(wet, h.check(200+i, "Kisima", r))
	}
	h.put(session.Writes{Checks: wet})
	h.now = wet[0].At
	admin := h.administrator()
	rows := func(path string) int { return len(slipRow.FindAllString(admin.get(path).Body, -1)) }
	for path, want := range map[string]int{
		"/desk/lots": 50, "/desk/lots?skip=100": 33, "/desk/lots?rows=all": 133, "/desk/lots?rows=all&district=Kisima": 73,
		"/desk/": 10, "/desk/visits?rows=all": 13, "/desk/visits?district=Upper+Mbuyu": 0,
	} {
		if got := rows(path); got != want {
			t.Errorf("%s has %d rows, want %d", path, got, want)
		}
	}
	holds(t, admin.get("/desk/lots?district=Kisima").Body, "1 to 50 of 73.", "These are 50 of 73 checks.", `href="/desk/lots?district=Kisima&amp;rows=all">All of them, to print`)
	holds(t, admin.get("/desk/lots?rows=all").Body, "1 to 133 of 133.", "not These are")
	holds(t, admin.get("/desk/").Body, "These are 10 of 13 lots.", `<a href="/desk/visits?rows=all">`)
	holds(t, admin.get("/desk/visits").Body, "not These are")
}

func TestALongListSaysHowMuchOfItIsShown(t *testing.T) {
	h := newHouse(t)
	admin := h.hundredThousand()
	few, all := admin.get("/desk/districts").Body, admin.get("/desk/districts?rows=all").Body
	holds(t, few, "These are 100 of 901 villages.", "These are 100 of 401 agents.")
	holds(t, all, "not These are")
	if n := strings.Count(all, ">Village "); n < 900 {
		t.Errorf("%d villages are listed, want 900", n)
	}
}

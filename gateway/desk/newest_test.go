package desk_test

import (
	"strings"
	"testing"

	"threshline/session"
)

// A wet lot that is in grade after it was dried counts once, as it is now, on
// every page; so does one that fell.
func TestALotCountsOnceByItsNewestCheck(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	h.people()
	wet := h.check(0, "Kisima", reading(185, 10, 1))
	dry := h.recheck(200, wet, reading(135, 10, 1)) // the week after
	wetted := h.check(1, "Upper Mbuyu", reading(135, 10, 1))
	fell := h.recheck(201, wetted, reading(185, 10, 1))
	h.put(session.Writes{Checks: []session.Check{wet, dry, wetted, fell}})
	const half = `<dt>In grade</dt><dd>50%</dd>`
	holds(t, admin.get("/desk/").Body, half, "1 of 2 lots", "4 checks, 2 of them the newest of their lot", "not 2 of 4",
		"A lot counts once, by its newest check.")
	holds(t, admin.get("/desk/report").Body, half, "A lot counts once, by its newest check.")
	holds(t, admin.get("/desk/grades").Body,
		`Kisima</a></th><td class="n">2</td><td class="n">1</td><td class="n">100%</td>`,
		`Upper Mbuyu</a></th><td class="n">2</td><td class="n">1</td><td class="n">0%</td>`)
	holds(t, admin.get("/desk/?kind=first").Body, half, "A lot counts by its first check.")
	// In the first week nothing is left to count: each of its lots was checked later.
	holds(t, admin.get("/desk/").Body, `2 Nov 2026</th><td class="n">2</td><td class="n">0</td><td class="n">0</td><td class="n">no lots</td>`,
		`9 Nov 2026</th><td class="n">2</td><td class="n">2</td><td class="n">1</td><td class="n">50%</td>`)
}

func TestAMonthWithoutChecksIsNotNothingInGrade(t *testing.T) {
	h := newHouse(t)
	h.season(20)
	admin := h.administrator()
	for _, path := range pages {
		if strings.HasPrefix(path, "/desk/growers") || path == "/desk/handset" || path == "/desk/meters" || path == "/desk/messages" || path == "/desk/settings" {
			continue
		}
		body := admin.get(path + "?from=2027-01-01&to=2027-01-31").Body
		_, main, _ := strings.Cut(body, "<main")
		holds(t, main, "No check matches", "not 0%")
	}
	holds(t, admin.get("/desk/?from=2027-01-01").Body, "<dd>no checks</dd>")
	holds(t, admin.get("/desk/report?from=2027-01-01").Body, "<dd>no checks</dd>")
	if csv := admin.get("/desk/export/file?format=csv&from=2027-01-01").Body; strings.Count(csv, "\n") != 1 || !strings.HasPrefix(csv, "slip") {
		t.Errorf("a file of no checks is more than its heading:\n%s", csv)
	}
	// A week between two that had checks.
	h.put(session.Writes{Checks: []session.Check{h.check(24*15, "Kisima", reading(135, 10, 1))}})
	holds(t, admin.get("/desk/").Body, `9 Nov 2026</th><td class="n">0</td><td class="n">0</td><td class="n">0</td><td class="n">no checks</td>`)
}

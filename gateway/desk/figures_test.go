package desk_test

import (
	"encoding/csv"
	"slices"
	"strconv"
	"strings"
	"testing"

	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session"
)

// The pages' figures are held against the export: they are reckoned once more
// from its rows, by the plain arithmetic of this file, and compared to the last
// digit that a page shows. desk_planted_test.go of the command shows
// that wrong ones are found.

// manyKinds files two months of checks: some incomplete, with insects, of lots
// that nobody weighed, checked again with another grade, corrected or withdrawn.
func (h *house) manyKinds() {
	h.t.Helper()
	h.people()
	var checks []session.Check
	for i := range 170 {
		r := reading(126+int64(i*7%37), int64(8+i*13%61), int64(i*3%9))
		switch {
		case i%19 == 4:
			r.Unset(grading.Red)
		case i%31 == 5:
			r.Set(grading.LiveOthers, 2*grading.One)
		}
		c := h.check(i*9, districts[i%5/3], r)
		c.Lot.Village, c.Lot.Variety = []string{"Weir", "Ford", "Mill"}[i%3], []string{"Kijani", "Supa", ""}[i%7/3]
		c.Channel = []string{"valley-sms", "valley-ussd"}[i%4/3]
		if c.Lot.Bags = 3 + i%17; i%11 == 0 {
			c.Lot.Bags, c.Lot.KG = 0, 0
		} else {
			c.Lot.KG = grading.NewDecimal(c.Lot.Bags) * 75
		}
		switch {
		case i%6 == 0:
			again := h.recheck(i*9+3+i%5*50, c, reading(128+int64(i%14), int64(6+i*11%40), int64(i*3%9)))
			again.Slip = session.NewSlip(uint64(100_000 + i))
			checks = append(checks, again)
		case i%23 == 7:
			right := h.check(i*9+1, c.Lot.District, reading(131, 12, 2))
			right.Slip = session.NewSlip(uint64(200_000 + i))
			right.Lot, c.State, c.ReplacedBy = c.Lot, session.Corrected, right.Slip
			checks = append(checks, right)
		case i%29 == 10:
			c.State = session.Withdrawn
		}
		checks = append(checks, c)
	}
	slices.SortFunc(checks, func(a, b session.Check) int { return a.At.Compare(b.At) })
	h.put(session.Writes{Checks: checks})
	h.now = checks[len(checks)-1].At
}

// record is a row of the export.
type record map[string]string

func (r record) num(name string) float64 {
	f, err := strconv.ParseFloat(r[name], 64)
	if err != nil {
		return 0
	}
	return f
}

func (r record) day() string   { return r["filed_at"][:10] }
func (r record) inGrade() bool { return r.num("rank") <= r.num("grades") }

// exported reads an export by the names of its columns.
func exported(t *testing.T, c *caller, query string) (list []record) {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(c.get("/desk/export/file?format=csv" + query).Body)).ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("the export has %d rows, %v", len(rows), err)
	}
	for _, row := range rows[1:] {
		one := record{}
		for i, head := range rows[0] {
			name, _, _ := strings.Cut(head, ", ")
			one[name] = row[i]
		}
		list = append(list, one)
	}
	return list
}

// counted is what pages say of some checks: the checks, and of each lot its newest.
type counted struct{ checks, lots []record }

// count picks the checks that a filter is to choose; first says that it asks for
// first checks.
func count(all []record, first bool, chosen func(record) bool) (c counted) {
	again := map[string]bool{}
	for _, r := range all {
		again[r["recheck_of"]] = true
	}
	for _, r := range all {
		if !chosen(r) || first && r["recheck_of"] != "" {
			continue
		}
		if c.checks = append(c.checks, r); first || !again[r["slip"]] {
			c.lots = append(c.lots, r)
		}
	}
	return c
}

func number(list []record, has func(record) bool) (n int) {
	for _, r := range list {
		if has(r) {
			n++
		}
	}
	return n
}

func kilos(list []record) (kg float64) {
	for _, r := range list {
		kg += r.num("kg")
	}
	return kg
}

func words(r record, column string) []string { return strings.Fields(r[column]) }

// byKey groups checks by a column.
func byKey(list []record, key func(record) string) map[string][]record {
	groups := map[string][]record{}
	for _, r := range list {
		groups[key(r)] = append(groups[key(r)], r)
	}
	return groups
}

// mostly is what holds most lots down, and in how many.
func mostly(lots []record, column string) map[string]int {
	counts := map[string]int{}
	for _, r := range lots {
		for _, id := range words(r, column) {
			counts[id]++
		}
	}
	return counts
}

// labelOf names a parameter of the test's standard as its table does.
func (h *house) labelOf(id string) string {
	for _, p := range h.programme.Standard.Parameters {
		if string(p.ID) == id {
			return p.Label
		}
	}
	return id
}

// TestPagesSayWhatTheExportSays is run with wrong figures in the pages too.
func TestPagesSayWhatTheExportSays(t *testing.T) {
	h := newHouse(t)
	h.manyKinds()
	admin := h.administrator()
	all := exported(t, admin, "")
	if len(all) < 150 {
		t.Fatalf("%d checks: too few", len(all))
	}
	for query, chosen := range map[string]func(record) bool{
		"":                                 func(record) bool { return true },
		"?kind=first":                      func(record) bool { return true },
		"?district=Kisima":                 func(r record) bool { return r["district"] == "Kisima" },
		"?from=2026-11-12&to=2026-12-04":   func(r record) bool { return r.day() >= "2026-11-12" && r.day() <= "2026-12-04" },
		"?variety=Supa&agent=a-upper":      func(r record) bool { return r["variety"] == "Supa" && r["agent"] == "a-upper" },
		"?from=2026-11-10&village=Nowhere": func(record) bool { return false },
	} {
		c := count(all, query == "?kind=first", chosen)
		page := func(path string) *sheet {
			a := admin.get(path + query)
			if a.Status != 200 {
				t.Fatalf("%s%s: status %d", path, query, a.Status)
			}
			return &sheet{t, path + query, a.Body}
		}
		season := page("/desk/")
		season.glance(&c, h)
		if len(c.checks) == 0 {
			continue
		}
		season.lots("the weeks", season.table("Weeks, each"), c, func(r record) string { return mondayOf(r.day()) }, func(cell string) string { return cell })
		season.holding(&c, h, 4)
		report := page("/desk/report")
		report.glance(&c, h)
		report.holding(&c, h, 5)
		grades := page("/desk/grades")
		grades.ladder(&c)
		grades.groups("Grades by district", &c, "district", h)
		grades.groups("Grades by variety", &c, "variety", h)
		grades.groups("Grades by channel", &c, "channel", h)
		grades.pairs(&c, all, h)
		places := page("/desk/districts")
		places.groups("Districts", &c, "district", h)
		places.groups("Agents", &c, "agent", h)
		limits := page("/desk/limits")
		limits.holding(&c, h, 0)
		limits.tally("Required, but not measured", &c, "missing", h.labelOf)
		limits.tally("Stopped outside", &c, "gates", func(id string) string { return paper.Say("gate", id) })
		limits.tally("Remedies advised", &c, "remedy", func(id string) string { return paper.Say("remedy", id) })
		for _, p := range h.programme.Standard.Parameters {
			limits.parameter(&c, &p)
		}
		if query != "?kind=first" { // a list has all that match
			page("/desk/lots").list(&c)
		}
		page("/desk/what-if").asItIs(&c, h)
	}
}

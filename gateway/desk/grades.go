package desk

import (
	"net/http"
	"strconv"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/chart"
	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
)

// gradesPage shows grades by district, variety and channel, and what re-checks
// changed.
type gradesPage struct {
	ledgerPage
	Grades                         chart.Drawing
	Districts, Varieties, Channels paper.Table
	Rechecks                       rechecksView
	Rest                           struct{ Districts, Varieties rest }
}

type rechecksView struct {
	ledger.Rechecks
	Said     string
	Moves    paper.Table
	Measured paper.Table
}

func (d *seasonDesk) grades(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	p, c, err := d.overLedger(w, r, v)
	if err != nil {
		return err
	}
	s := &p.Summary
	most := rowsOf(r, mostRows)
	page := gradesPage{
		ledgerPage: p, Grades: gradeChart(s), Rechecks: d.rechecks(s),
		Districts: d.groups("Grades by district", "District", s.Districts, s, most, func(k string) paper.Cell {
			return paper.Cell{Text: k, Link: c.with("/desk/grades", "district", k)}
		}),
		Varieties: d.groups("Grades by variety", "Variety", s.Varieties, s, most, func(k string) paper.Cell {
			return paper.Cell{Text: paper.Or(k, "not said"), Link: c.with("/desk/grades", "variety", k)}
		}),
		Channels: d.groups("Grades by channel", "Channel", s.Channels, s, most, func(k string) paper.Cell { return paper.Cell{Text: k} }),
	}
	page.Rest.Districts = restOf(&c, r.URL.Path, "district", len(page.Districts.Rows), len(s.Districts))
	page.Rest.Varieties = restOf(&c, r.URL.Path, "row", len(page.Varieties.Rows), len(s.Varieties))
	return d.show(w, r, v, "grades", "Grades", page)
}

// groups is a table of the groups with most checks, at most so many, with a
// column for each grade.
func (d *seasonDesk) groups(caption, what string, groups []ledger.Group, s *ledger.Summary, most int, key func(string) paper.Cell) paper.Table {
	t := paper.Table{Caption: caption, Head: paper.Heads(what, "#Checks", "#Lots", "#In grade", "#95% interval")}
	several := tablesOf(s)
	for i := range s.Grades {
		g := &s.Grades[i]
		label := string(g.Label) + several.name(g.Standard)
		t.Head = append(t.Head, paper.Column{Label: label, Number: true})
	}
	t.Head = append(t.Head, paper.Column{Label: "Mostly held down by"})
	for i := range groups {
		g := &groups[i]
		if i >= most {
			break
		}
		row := []paper.Cell{key(g.Key)}
		row = append(row, paper.Cells(paper.Count(g.Checks), paper.Count(g.Lots), paper.Part(g.InGrade, g.Checks), paper.Interval(g.InGrade))...)
		for _, n := range g.Grades {
			row = append(row, paper.Cell{Text: paper.Count(n)})
		}
		row = append(row, paper.Cell{Text: d.mostly(g)})
		t.Rows = append(t.Rows, row)
	}
	return t
}

// mostRows bounds every list on a page, so that the page does not grow with the
// programme. The filter finds the rest.
const mostRows = 100

// mostly returns what most often holds a group's grades down.
func (d *terms) mostly(g *ledger.Group) string {
	switch {
	case g.Lots == 0:
		return "–"
	case g.Deciding == "":
		return "nothing"
	}
	return d.parameterLabel("", g.Deciding) + ", " + paper.Percent(g.DecidingShare.Value())
}

// rechecks says what re-checks changed.
func (d *seasonDesk) rechecks(s *ledger.Summary) rechecksView {
	r := s.Rechecks
	v := rechecksView{Rechecks: r}
	switch {
	case r.Compared == 0:
		v.Said = "No lot was checked again after its remedy yet."
	default:
		v.Said = paper.Plural(r.Compared, "lot") + " checked again: " + paper.Count(r.Better) + " better, " + paper.Count(r.Same) + " the same, " + paper.Count(r.Worse) +
			" worse; " + strconv.FormatFloat(r.Steps, 'f', 2, 64) + " grades up on average."
	}
	several := tablesOf(s)
	v.Moves = paper.Table{Caption: "From grade to grade", Head: paper.Heads("Before", "After", "#Lots")}
	for _, m := range r.Moves {
		v.Moves.Add(gradeLabel(&s.Grades[m.From], several), gradeLabel(&s.Grades[m.To], several), paper.Count(m.Lots))
	}
	v.Measured = paper.Table{Caption: "Means before and after, over lots measured both times", Head: paper.Heads("Parameter", "Unit", "#Lots", "#Before", "#After", "#Fell", "#Rose")}
	for _, m := range r.Measured {
		v.Measured.Add(d.parameterLabel(m.Standard, m.Parameter), unitOf(s, m.Standard, m.Parameter), paper.Count(m.Pairs),
			strconv.FormatFloat(m.Before, 'f', 2, 64), strconv.FormatFloat(m.After, 'f', 2, 64), paper.Count(m.Fell), paper.Count(m.Rose))
	}
	return v
}

// unitOf is what a parameter of a standard is measured in, where its table is known.
func unitOf(s *ledger.Summary, standard string, id grading.ParameterID) string {
	for i := range s.Parameters {
		if p := &s.Parameters[i]; p.Standard == standard && p.Parameter == id {
			return paper.Unit(p.Unit, p.Basis)
		}
	}
	return ""
}

// districtsPage lists districts, villages and agents.
type districtsPage struct {
	ledgerPage
	Districts, Villages, Agents paper.Table
	Rest                        struct{ Districts, Villages, Agents rest }
	// Named says that agents are shown by name.
	Named bool
}

func (d *seasonDesk) districts(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	p, c, err := d.overLedger(w, r, v)
	if err != nil {
		return err
	}
	s := &p.Summary
	most, listed := rowsOf(r, mostRows), c.counted()
	page := districtsPage{ledgerPage: p, Named: v.May(session.DeskCoordinator)}
	page.Districts = d.groups("Districts", "District", s.Districts, s, most, func(k string) paper.Cell {
		return paper.Cell{Text: k, Link: listed.with("/desk/lots", "district", k)}
	})
	page.Villages = d.groups("Villages", "Village", s.Villages, s, most, func(k string) paper.Cell {
		return paper.Cell{Text: paper.Or(k, "not said"), Link: listed.with("/desk/lots", "village", k)}
	})
	page.Agents = d.groups("Agents", "Agent", s.Agents, s, most, func(k string) paper.Cell {
		return paper.Cell{Text: d.nameOf(v, session.PersonID(k)), Link: listed.with("/desk/lots", "agent", k)}
	})
	page.Rest.Districts = restOf(&c, r.URL.Path, "district", len(page.Districts.Rows), len(s.Districts))
	page.Rest.Villages = restOf(&c, r.URL.Path, "village", len(page.Villages.Rows), len(s.Villages))
	page.Rest.Agents = restOf(&c, r.URL.Path, "agent", len(page.Agents.Rows), len(s.Agents))
	if page.Named && len(s.Agents) > 0 {
		if err := d.seen(r.Context(), v, "the names of agents", c.coded(d.terms, v)); err != nil {
			return err
		}
	}
	return d.show(w, r, v, "districts", "Districts and agents", page)
}

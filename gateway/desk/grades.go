package desk

import (
	"net/http"
	"strconv"

	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
)

// gradesPage shows grades by district, variety and channel, and what re-checks
// changed.
type gradesPage struct {
	ledgerPage
	Grades                         chart
	Districts, Varieties, Channels table
	Rechecks                       rechecksView
}

type rechecksView struct {
	ledger.Rechecks
	Said     string
	Moves    table
	Measured table
}

func (d *Desk) grades(w http.ResponseWriter, r *http.Request, v *visitor) error {
	p, c, err := d.overLedger(r, v)
	if err != nil {
		return err
	}
	s := &p.Summary
	page := gradesPage{
		ledgerPage: p, Grades: gradeChart(s), Rechecks: d.rechecks(s),
		Districts: d.groups("Grades by district", "District", s.Districts, s, func(k string) cell {
			return cell{k, c.with("/desk/grades", "district", k)}
		}),
		Varieties: d.groups("Grades by variety", "Variety", s.Varieties, s, func(k string) cell {
			return cell{saidOf(k, "not said"), c.with("/desk/grades", "variety", k)}
		}),
		Channels: d.groups("Grades by channel", "Channel", s.Channels, s, func(k string) cell { return cell{Text: k} }),
	}
	d.show(w, r, http.StatusOK, v, "grades", "Grades", page)
	return nil
}

// groups is a table of groups with a column for each grade.
func (d *Desk) groups(caption, what string, groups []ledger.Group, s *ledger.Summary, key func(string) cell) table {
	t := table{Caption: caption, Head: heads(what, "#Checks", "#In grade", "#95 % interval")}
	several := severalStandards(s)
	for i := range s.Grades {
		label := string(s.Grades[i].Label)
		if several {
			label += ", " + s.Grades[i].Standard
		}
		t.Head = append(t.Head, column{label, true})
	}
	t.Head = append(t.Head, column{"Mostly held down by", false})
	for i := range groups {
		g := &groups[i]
		if i >= mostRows {
			t.Caption += ". Only the " + count(mostRows) + " with most checks are listed"
			break
		}
		row := []cell{key(g.Key)}
		row = append(row, cells(count(g.Checks), percent(g.InGrade.Value()), intervalText(g.InGrade))...)
		for _, n := range g.Grades {
			row = append(row, cell{Text: count(n)})
		}
		row = append(row, cell{Text: d.mostly(g)})
		t.Rows = append(t.Rows, row)
	}
	return t
}

// mostRows bounds every list on a page, so that its weight does not grow with
// the programme: what is beyond is found by the filter.
const mostRows = 100

// mostly is what holds most of a group's grades down.
func (d *Desk) mostly(g *ledger.Group) string {
	if g.Deciding == "" {
		return "nothing"
	}
	return d.parameterLabel("", g.Deciding) + ", " + percent(g.DecidingShare.Value())
}

// rechecks says what re-checks changed.
func (d *Desk) rechecks(s *ledger.Summary) rechecksView {
	r := s.Rechecks
	v := rechecksView{Rechecks: r}
	switch {
	case r.Compared == 0:
		v.Said = "No lot was checked again after its remedy yet."
	default:
		v.Said = plural(r.Compared, "lot") + " checked again: " + count(r.Better) + " better, " + count(r.Same) + " the same, " + count(r.Worse) +
			" worse; " + strconv.FormatFloat(r.Steps, 'f', 2, 64) + " grades up in the mean."
	}
	several := severalStandards(s)
	v.Moves = table{Caption: "From grade to grade", Head: heads("Before", "After", "#Lots")}
	for _, m := range r.Moves {
		v.Moves.Rows = append(v.Moves.Rows, cells(gradeLabel(&s.Grades[m.From], several), gradeLabel(&s.Grades[m.To], several), count(m.Lots)))
	}
	v.Measured = table{Caption: "Means before and after, over lots measured both times", Head: heads("Parameter", "Unit", "#Lots", "#Before", "#After", "#Fell", "#Rose")}
	for _, m := range r.Measured {
		v.Measured.Rows = append(v.Measured.Rows, cells(d.parameterLabel(m.Standard, m.Parameter), unitOf(s, m.Standard, m.Parameter), count(m.Pairs),
			strconv.FormatFloat(m.Before, 'f', 2, 64), strconv.FormatFloat(m.After, 'f', 2, 64), count(m.Fell), count(m.Rose)))
	}
	return v
}

// unitOf is what a parameter of a standard is measured in, where its table is known.
func unitOf(s *ledger.Summary, standard string, id grading.ParameterID) string {
	for i := range s.Parameters {
		if p := &s.Parameters[i]; p.Standard == standard && p.Parameter == id {
			return unit(p.Unit, p.Basis)
		}
	}
	return ""
}

// districtsPage lists districts, villages and agents.
type districtsPage struct {
	ledgerPage
	Districts, Villages, Agents table
	// Named says that agents are shown by name.
	Named bool
}

func (d *Desk) districts(w http.ResponseWriter, r *http.Request, v *visitor) error {
	p, c, err := d.overLedger(r, v)
	if err != nil {
		return err
	}
	s := &p.Summary
	page := districtsPage{ledgerPage: p, Named: v.may(session.DeskCoordinator)}
	page.Districts = d.groups("Districts", "District", s.Districts, s, func(k string) cell {
		return cell{k, c.with("/desk/lots", "district", k)}
	})
	page.Villages = d.groups("Villages", "Village", s.Villages, s, func(k string) cell {
		return cell{saidOf(k, "not said"), c.with("/desk/lots", "village", k)}
	})
	page.Agents = d.groups("Agents", "Agent", s.Agents, s, func(k string) cell {
		return cell{d.nameOf(v, session.PersonID(k)), c.with("/desk/lots", "agent", k)}
	})
	if page.Named && len(s.Agents) > 0 {
		if err := d.seen(r.Context(), v, "the names of agents", c.coded(d, v)); err != nil {
			return err
		}
	}
	d.show(w, r, http.StatusOK, v, "districts", "Districts and agents", page)
	return nil
}

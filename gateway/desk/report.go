package desk

import (
	"net/http"
	"strconv"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/chart"
	"threshline/gateway/desk/paper"
)

// reportPage is the season on one sheet of A4.
type reportPage struct {
	ledgerPage
	Said                   string
	Grades, Weeks          chart.Drawing
	Holding, Districts     paper.Table
	Best, Season, Rechecks string
	Standard, Edition      string
	Source, Status         string
	Wait                   bool // for Best and Season
}

func (d *seasonDesk) report(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	p, c, err := d.overLedger(w, r, v)
	if err != nil {
		return err
	}
	s := d.programme.Standard
	page := reportPage{
		ledgerPage: p, Said: c.said(d.terms, v), Grades: gradeChart(&p.Summary), Weeks: chart.Weeks(p.Summary.Weeks), Holding: d.holding(&p.Summary, &c, 5),
		Standard: s.Title, Edition: s.Edition, Source: s.Source, Status: paper.Say("status", s.Status), Rechecks: d.rechecks(&p.Summary).Said,
	}
	page.Districts = paper.Table{Caption: "Districts", Head: paper.Heads("District", "#Checks", "#Lots", "#In grade", "#95% interval", "Mostly held down by")}
	for i := range p.Summary.Districts {
		if i == mostReportDistricts {
			page.Districts.Caption += ", the " + strconv.Itoa(mostReportDistricts) + " with most checks"
			break
		}
		g := &p.Summary.Districts[i]
		page.Districts.Add(paper.Or(g.Key, "not said"), paper.Count(g.Checks), paper.Count(g.Lots), paper.Part(g.InGrade, g.Checks), paper.Interval(g.InGrade), d.mostly(g))
	}
	what := d.figures.WhatIfs(c.Filter, d.figures.Enough())
	if page.Wait = !what.Ready; page.Wait {
		comeBack(w)
	}
	page.Best, page.Season = d.bestOf(what.Result.ThisLot, &what.Result), d.bestOf(what.Result.Season, &what.Result)
	return d.show(w, r, v, "report", "Season report", page)
}

// mostReportDistricts is how many districts fit the sheet.
const mostReportDistricts = 8

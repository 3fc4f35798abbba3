package desk

import (
	"net/http"
	"strconv"
)

// reportPage is the season on one sheet of A4.
type reportPage struct {
	ledgerPage
	Said                   string
	Grades, Weeks          chart
	Holding, Districts     table
	Best, Season, Rechecks string
	Standard, Edition      string
	Source, Status         string
	Wait                   bool // for Best and Season
}

func (d *Desk) report(w http.ResponseWriter, r *http.Request, v *visitor) error {
	p, c, err := d.overLedger(r, v)
	if err != nil {
		return err
	}
	s := d.cfg.Programme.Standard
	page := reportPage{
		ledgerPage: p, Said: c.said(d, v), Grades: gradeChart(&p.Summary), Weeks: weekChart(p.Summary.Weeks), Holding: d.holding(&p.Summary, &c, 5),
		Standard: s.Title, Edition: s.Edition, Source: s.Source, Status: say("status", s.Status), Rechecks: d.rechecks(&p.Summary).Said,
	}
	page.Districts = table{Caption: "Districts", Head: heads("District", "#Checks", "#In grade", "#95 % interval", "Mostly held down by")}
	for i := range p.Summary.Districts {
		if i == mostReportDistricts {
			page.Districts.Caption += ", the " + strconv.Itoa(mostReportDistricts) + " with most checks"
			break
		}
		g := &p.Summary.Districts[i]
		page.Districts.Rows = append(page.Districts.Rows, cells(saidOf(g.Key, "not said"), count(g.Checks), percent(g.InGrade.Value()), intervalText(g.InGrade), d.mostly(g)))
	}
	what := d.whatIfs(c.Filter)
	if page.Wait = !what.ready; page.Wait {
		comeBack(w)
	}
	page.Best, page.Season = d.bestOf(what.result.ThisLot, &what.result), d.bestOf(what.result.Season, &what.result)
	d.show(w, r, http.StatusOK, v, "report", "Season report", page)
	return nil
}

// mostReportDistricts is how many districts fit the sheet.
const mostReportDistricts = 8

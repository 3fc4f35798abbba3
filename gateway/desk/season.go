package desk

import (
	"cmp"
	"errors"
	"net/http"
	"strconv"
	"sync"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/chart"
	"threshline/gateway/desk/paper"
	"threshline/gateway/desk/reckon"
	"threshline/session"
	"threshline/session/ledger"
)

// ledgerPage is what the pages over the ledger have in common.
type ledgerPage struct {
	Filter  filterForm
	Summary ledger.Summary
	// Empty says that no check matches; Lead is the summary in a sentence.
	Empty bool
	Lead  string
	// Apart are the checks that other editions of the procedure keep out of the
	// figures.
	Apart []apart
}

// apart says how much was measured by another edition of the procedure.
type apart struct{ Said, Link string }

// overLedger marks a page that is made over the ledger.
func (ledgerPage) overLedger() {}

// chooser reads which checks a page is about, and lets a visitor choose others.
type chooser struct {
	*front
	*terms
	ledger  *ledger.Ledger
	figures *reckon.Figures

	listing sync.Mutex
	listed  map[session.AccountID]bool // sign-ins that were shown a list of agents
}

// overLists is overLedger for pages that list checks or people, of all editions of
// the procedure, and checks by hand too.
func (d *chooser) overLists(w http.ResponseWriter, r *http.Request, v *access.Visitor) (ledgerPage, chosen, error) {
	return d.over(w, r, v, ledger.EveryProcedure, ledger.EitherWay)
}

// overLedger reads the filter of a request and the summary it chooses. Figures are
// of one edition of the procedure, and of checks with the kit.
func (d *chooser) overLedger(w http.ResponseWriter, r *http.Request, v *access.Visitor) (ledgerPage, chosen, error) {
	return d.over(w, r, v, 0, ledger.WithKit)
}

func (d *chooser) over(w http.ResponseWriter, r *http.Request, v *access.Visitor, procedure int, way ledger.Way) (ledgerPage, chosen, error) {
	c, err := readFilter(r.URL.Query(), v)
	if err != nil {
		return ledgerPage{}, c, d.misread(w, r, v, &c, err)
	}
	c.take(way)
	summed := c.Filter
	summed.Procedure = cmp.Or(summed.Procedure, procedure)
	p := ledgerPage{Filter: d.form(r.URL.Path, &c, v), Summary: d.figures.Summary(summed)}
	if err := d.seenInFilter(r.Context(), v, &c, &p.Filter); err != nil {
		return p, c, err
	}
	p.Empty = p.Summary.Checks == 0
	p.Lead = lead(&p.Summary, c.Kind)
	for _, other := range p.Summary.Apart {
		p.Apart = append(p.Apart, apart{apartSaid(&other), c.with(r.URL.Path, "procedure", strconv.Itoa(other.Procedure))})
	}
	if reach := d.ledger.View().Reach(c.Filter); way == ledger.WithKit && reach.Checks > 0 {
		p.Apart = append(p.Apart, apart{reached(&reach.Reached) + ", in none of these figures.", c.with("/desk/hands", "", "")})
	}
	if p.Summary.Apart != nil {
		c.measured = strconv.Itoa(p.Summary.Grades[0].Procedure)
	}
	return p, c, nil
}

// errShown says that a page was answered already.
var errShown = errors.New("desk: answered")

// misread shows what is wrong with a filter, above the form as it was filled
// in.
func (d *chooser) misread(w http.ResponseWriter, r *http.Request, v *access.Visitor, c *chosen, err error) error {
	var wrong *paper.InputError
	if !errors.As(err, &wrong) {
		return err
	}
	form := d.form(r.URL.Path, c, v)
	form.Open = true
	d.Show(w, r, http.StatusBadRequest, v, "misread", "Which checks?", struct {
		Filter filterForm
		Why    string
	}{form, wrong.Problem})
	return errShown
}

// lead says how much was checked and when, and which lots the figures are
// about.
func lead(s *ledger.Summary, kind ledger.Kind) string {
	if s.Checks == 0 {
		return "No check matches. A check appears here a few seconds after it was filed."
	}
	text := paper.Plural(s.Checks, "check") + " of " + paper.Plural(s.Lots, "lot")
	if s.Lots < s.Checks { // by the filter, a lot's first check may be in and its newest one not
		text = paper.Plural(s.Checks, "check") + ", " + paper.Count(s.Lots) + " of them the newest of their lot"
	}
	if s.KG > 0 {
		text += ", " + paper.Weight(s.KG)
		switch {
		case s.Weighed < s.Lots:
			text += " in the " + paper.Count(s.Weighed) + " of those whose weight is known"
		case s.Lots < s.Checks:
			text += " in those"
		}
	}
	if s.FirstDay == s.LastDay {
		text += ", on " + paper.Day(s.FirstDay) + "."
	} else {
		text += ", from " + paper.Day(s.FirstDay) + " to " + paper.Day(s.LastDay) + "."
	}
	if kind == ledger.FirstCheck {
		return text + " A lot counts by its first check."
	}
	return text + " A lot counts once, by its newest check."
}

// apartSaid says how much was measured by another edition of the procedure.
func apartSaid(p *ledger.ByProcedure) string {
	text := paper.Plural(p.Checks, "check") + " by edition " + strconv.Itoa(p.Procedure) + " of the procedure"
	if p.Checks == 1 {
		text += " is apart, and not in these figures"
	} else {
		text += " are apart, and not in these figures"
	}
	if p.Lots > 0 {
		text += ": " + paper.Part(p.InGrade, p.Checks) + " of their " + paper.Plural(p.Lots, "lot") + " are in grade"
	}
	return text + "."
}

// seasonDesk shows the figures of the season.
type seasonDesk struct{ *chooser }

// seasonPage is the season at a glance.
type seasonPage struct {
	ledgerPage
	Grades, Weeks chart.Drawing
	Holding       paper.Table
	Best, Season  string      // the remedy most worth doing everywhere
	Lift          string      // the one that lifts most lots, where that is another
	Findings      int         // reports to look at again
	Wait          bool        // the four above are still being reckoned
	AsOf          string      // when they were, if a little ago
	Visits        paper.Table // lots in danger
	ToVisit       rest
	Links         map[string]string
}

func (d *seasonDesk) season(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	p, c, err := d.overLedger(w, r, v)
	if err != nil {
		return err
	}
	page := seasonPage{
		ledgerPage: p, Grades: gradeChart(&p.Summary), Weeks: chart.Weeks(p.Summary.Weeks), Holding: d.holding(&p.Summary, &c, 4),
		Links: map[string]string{
			"grades": c.with("/desk/grades", "", ""), "limits": c.with("/desk/limits", "", ""), "what": c.with("/desk/what-if", "", ""),
			"findings": c.with("/desk/findings", "", ""), "report": c.with("/desk/report", "", ""), "visits": c.with("/desk/visits", "rows", "all"),
		},
	}
	if !p.Empty {
		var of int
		page.Visits, of = d.visits(c.Filter, mostVisits)
		page.ToVisit = restOf(&c, "/desk/visits", "lot", len(page.Visits.Rows), of)
		d.glance(&page, c.Filter)
	}
	if page.Wait {
		comeBack(w)
	}
	return d.show(w, r, v, "season", "The season at a glance", page)
}

// glance says what is most worth doing, and how many reports to look at again.
func (d *seasonDesk) glance(page *seasonPage, f ledger.Filter) {
	enough := d.figures.Enough()
	what, odd := d.figures.WhatIfs(f, enough), d.figures.Findings(f, enough)
	if page.Wait = !what.Ready || !odd.Ready; page.Wait {
		return
	}
	page.Best, page.Season, page.Lift = d.bestOf(what.Result.ThisLot, &what.Result), d.bestOf(what.Result.Season, &what.Result), d.lifts(&what.Result)
	page.Findings, page.AsOf = len(odd.Result.Findings), what.Old(d.zone)
}

// gradeLabel is a grade with its table where there are several.
func gradeLabel(g *ledger.GradeTally, several tables) string {
	label := string(g.Label)
	if g.OutOfGrade() {
		label += " (not in the ladder)"
	} else {
		label += " (" + strconv.Itoa(g.Rank) + " of " + strconv.Itoa(g.Of) + ")"
	}
	return label + several.name(g.Standard)
}

// tables says whether lots were graded by several, and their grades cannot be
// compared.
type tables bool

func tablesOf(s *ledger.Summary) (several tables) {
	for i := range s.Grades {
		g, first := &s.Grades[i], &s.Grades[0]
		several = several || g.Standard != first.Standard || g.Edition != first.Edition
	}
	return several
}

// name distinguishes a table from the others in a label; "" when there is only
// one.
func (several tables) name(standard string) string {
	if several {
		return ", " + standard
	}
	return ""
}

// gradeChart draws the share of each grade.
func gradeChart(s *ledger.Summary) chart.Drawing {
	several := tablesOf(s)
	t := paper.Table{
		Caption: "Lots by grade, each as a share of the lots by the same standard",
		Head:    paper.Heads("Grade", "#Lots", "#Share", "#95% interval", "#Weight", "#Mean chance of the grade"),
	}
	var rows []chart.Bar
	for i := range s.Grades {
		g := &s.Grades[i]
		label := gradeLabel(g, several)
		class := ""
		switch {
		case g.OutOfGrade():
			class = "out"
		case g.Rank == 1:
			class = "best"
		}
		low, high := g.Share.Interval()
		rows = append(rows, chart.Bar{
			Label: label, Note: paper.Part(g.Share, s.Checks) + ", " + paper.Count(g.Share.Count), Class: class,
			Value: g.Share.Value(), Low: low, Top: high, Bounded: true,
		})
		sure := "not known"
		if g.Confidence > 0 {
			sure = paper.Chance(g.Confidence)
		}
		t.Add(label, paper.Count(g.Share.Count), paper.Part(g.Share, s.Checks), paper.Interval(g.Share), paper.Weight(g.KG), sure)
	}
	if s.Checks == 0 {
		rows = nil
	}
	c := chart.Bars("grades", "Lots by grade",
		"One bar for each grade, from the best. The thin line across each end shows where the share lies with 95% certainty.",
		"share of lots, %", rows)
	c.Table = t
	return c
}

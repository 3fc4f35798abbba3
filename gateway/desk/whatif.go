package desk

import (
	"math"
	"net/http"
	"strconv"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/chart"
	"threshline/gateway/desk/paper"
	"threshline/session/ledger"
)

// whatIfPage shows the season as it would be after remedies done everywhere.
type whatIfPage struct {
	ledgerPage
	Lots, Refused   int
	Best, Second    string
	Chart           chart.Drawing
	ThisLot, Season paper.Table
	Districts       paper.Table
	Grades          paper.Table
	InMoney         bool
	Currency        string
	CostUnknown     bool
	Wait            bool   // all this is still being reckoned
	AsOf            string // when it was, if a little ago
}

func (d *seasonDesk) whatIf(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	p, c, err := d.overLedger(w, r, v)
	if err != nil {
		return err
	}
	again := d.figures.WhatIfs(c.Filter, d.figures.Enough())
	if !again.Ready {
		comeBack(w)
		return d.show(w, r, v, "whatif", whatIfTitle, whatIfPage{ledgerPage: p, Wait: true})
	}
	what := again.Result
	page := whatIfPage{ledgerPage: p, Lots: what.Lots, Refused: what.Refused, InMoney: what.InMoney, Currency: d.programme.Currency}
	page.AsOf = again.Old(d.zone)
	page.Best = d.bestOf(what.ThisLot, &what)
	if two := what.ThisLotTwo; two != nil {
		page.Second = "Together, " + remedies(two) + ": " + d.outcomeSaid(two, &what)
	}
	page.Chart = whatIfChart(&what)
	page.ThisLot = d.outcomes("Done once to every lot at hand that has something for it to act on", what.ThisLot, what.ThisLotTwo, &what)
	page.Season = d.outcomes("Done before the next season, were its lots otherwise like these", what.Season, what.SeasonTwo, &what)
	page.Grades = gradesAfter(&what)
	page.Districts = d.districtRemedies(&what)
	for _, o := range append(what.ThisLot, what.Season...) {
		page.CostUnknown = page.CostUnknown || o.CostUnknown
	}
	return d.show(w, r, v, "whatif", whatIfTitle, page)
}

const whatIfTitle = "What if one remedy were done everywhere"

// remedies names the remedies of an outcome.
func remedies(o *ledger.Outcome) string {
	text := ""
	for i, id := range o.Remedies {
		if i > 0 {
			text += ", then "
		}
		text += paper.Say("remedy", id)
	}
	return text
}

// bestOf says which remedy is most worth doing everywhere.
func (d *seasonDesk) bestOf(list []ledger.Outcome, what *ledger.WhatIf) string {
	if len(list) == 0 || what.InMoney && list[0].LiftedNet() <= 0 || !what.InMoney && list[0].Steps <= 0 {
		return ""
	}
	return paper.Say("remedy", list[0].Remedies[0]) + ": " + d.outcomeSaid(&list[0], what)
}

// lifts says which remedy for the lots at hand improves the grade of most of
// them, unless it is also the remedy most worth doing.
func (d *seasonDesk) lifts(what *ledger.WhatIf) string {
	best := -1
	for i := range what.ThisLot {
		if best < 0 || what.ThisLot[i].Lifted > what.ThisLot[best].Lifted {
			best = i
		}
	}
	if best <= 0 || what.ThisLot[best].Lifted <= what.ThisLot[0].Lifted {
		return ""
	}
	return paper.Say("remedy", what.ThisLot[best].Remedies[0]) + ": " + d.outcomeSaid(&what.ThisLot[best], what)
}

// outcomeSaid is an outcome in a sentence.
func (d *seasonDesk) outcomeSaid(o *ledger.Outcome, what *ledger.WhatIf) string {
	text := paper.Count(o.Lifted) + " of " + paper.Plural(what.Lots, "lot") + " would rise; the best grade would go from " +
		paper.Percent(what.Before.Best.Value()) + " to " + paper.Percent(o.After.Best.Value()) +
		", in grade from " + paper.Percent(what.Before.InGrade.Value()) + " to " + paper.Percent(o.After.InGrade.Value())
	if what.InMoney {
		text += "; " + d.earned(o.LiftedNet(), o.CostUnknown) + ", work paid"
		if o.Lifted < o.Done {
			text += ", if done where it lifts the grade only (done to all that it acts on: " + d.earned(o.Net(), o.CostUnknown) + ")"
		}
	}
	return text + "."
}

// earned says a gain that is net of work and known fees.
func (d *seasonDesk) earned(net float64, feeUnknown bool) string {
	text := paper.Money(math.Abs(net)) + " " + d.programme.Currency + " "
	if net < 0 {
		text += "less"
	} else {
		text += "more"
	}
	if feeUnknown {
		text += " before the machine is paid"
	}
	return text
}

// whatIfChart draws the share in grade before and after each remedy.
func whatIfChart(what *ledger.WhatIf) chart.Drawing {
	low, high := what.Before.InGrade.Interval()
	rows := []chart.Bar{{
		Label: "As it is", Note: paper.Percent(what.Before.InGrade.Value()), Value: what.Before.InGrade.Value(), Low: low, Top: high, Bounded: true,
	}}
	t := paper.Table{Caption: "Share of lots in grade", Head: paper.Heads("What is done", "#Lots", "#In grade", "#Share", "#95% interval")}
	t.Add("As it is", paper.Count(what.Lots), paper.Count(what.Before.InGrade.Count), paper.Percent(what.Before.InGrade.Value()), paper.Interval(what.Before.InGrade))
	for _, o := range withTwo(what.ThisLot[:min(len(what.ThisLot), mostOutcomes)], what.ThisLotTwo) {
		low, high := o.After.InGrade.Interval()
		rows = append(rows, chart.Bar{
			Label: remedies(o), Note: paper.Percent(o.After.InGrade.Value()), Class: "after", Value: o.After.InGrade.Value(), Low: low, Top: high, Bounded: true,
		})
		t.Add(remedies(o), paper.Count(o.Done), paper.Count(o.After.InGrade.Count), paper.Percent(o.After.InGrade.Value()), paper.Interval(o.After.InGrade))
	}
	if what.Lots == 0 {
		rows = nil
	}
	c := chart.Bars("what-if", "Lots in grade, as it is and after each remedy",
		"The first bar is the season as it is. Each other bar is the season after one remedy was done everywhere, the last after the best two. The thin lines are 95% intervals of the share among many such lots; they leave out how far the assumed effect of a remedy may be wrong.",
		"share of lots in grade, %", rows)
	c.Table = t
	return c
}

// mostOutcomes is how many remedies the chart draws.
const mostOutcomes = 6

// outcomes is the table of remedies, best first.
func (d *seasonDesk) outcomes(caption string, list []ledger.Outcome, two *ledger.Outcome, what *ledger.WhatIf) paper.Table {
	t := paper.Table{Caption: caption, Head: paper.Heads("Remedy", "#Lots it acts on", "#Rise", "#Fall", "#In the best grade after", "#In grade after", "#Weight lost", "#Work, hours")}
	if what.InMoney {
		in := ", " + d.programme.Currency
		t.Head = append(t.Head, paper.Heads("#Net where it lifts the grade"+in, "#Done to all: gain"+in, "#cost"+in, "#net"+in)...)
	}
	for _, o := range withTwo(list, two) {
		row := paper.Cells(remedies(o), paper.Count(o.Done), paper.Count(o.Lifted), paper.Count(o.Lowered), paper.Percent(o.After.Best.Value()), paper.Percent(o.After.InGrade.Value()),
			lost(o), paper.Count(int(math.Ceil(o.Hours))))
		if what.InMoney {
			cost := paper.Money(o.Cost)
			switch {
			case o.CostUnknown && o.Cost == 0:
				cost = "price not known"
			case o.CostUnknown:
				cost += " and what has no price"
			}
			row = append(row, paper.Cells(paper.Money(o.LiftedNet()), paper.Money(o.MoneyGained.Float()), cost, paper.Money(o.Net()))...)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// withTwo is a list of single remedies, and the best two together where they are known.
func withTwo(list []ledger.Outcome, two *ledger.Outcome) (all []*ledger.Outcome) {
	for i := range list {
		all = append(all, &list[i])
	}
	if two != nil {
		all = append(all, two)
	}
	return all
}

func lost(o *ledger.Outcome) string {
	if o.KGLost == 0 {
		return "none"
	}
	return paper.Weight(o.KGLost)
}

// gradesAfter counts lots by grade before and after the best remedies.
func gradesAfter(what *ledger.WhatIf) paper.Table {
	t := paper.Table{Caption: "Lots by grade", Head: paper.Heads("Grade", "#As it is")}
	best := func(list []ledger.Outcome) []ledger.Outcome { return list[:min(1, len(list))] }
	shown := append(withTwo(best(what.ThisLot), what.ThisLotTwo), withTwo(best(what.Season), nil)...)
	for _, o := range shown {
		t.Head = append(t.Head, paper.Column{Label: "After: " + remedies(o), Number: true})
	}
	for i, g := range what.Grades {
		label := string(g.Label)
		if g.Rank <= g.Of {
			label += " (" + strconv.Itoa(g.Rank) + " of " + strconv.Itoa(g.Of) + ")"
		}
		row := paper.Cells(label, paper.Count(what.Before.Grades[i]))
		for _, o := range shown {
			row = append(row, paper.Cell{Text: paper.Count(o.After.Grades[i])})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// districtRow is a district with its own most useful remedy.
type districtRow struct{ district, lots, remedy, rise, best, bestAfter, season string }

func (r *districtRow) cells() []paper.Cell {
	return paper.Cells(r.district, r.lots, r.remedy, r.rise, r.best, r.bestAfter, r.season)
}

// districtRemedies is each district's own most useful remedy.
func (d *seasonDesk) districtRemedies(what *ledger.WhatIf) paper.Table {
	t := paper.Table{
		Caption: "Each district’s own most useful remedy",
		Head:    paper.Heads("District", "#Lots", "Remedy for lots at hand", "#Rise", "#Best grade, as it is", "#Best grade, after", "Before the next season"),
	}
	for i := range what.Districts {
		w := &what.Districts[i]
		best := paper.Part(w.Before.Best, w.Lots+w.Refused)
		row := districtRow{
			district: paper.Or(w.District, "not said"), lots: paper.Count(w.Lots), remedy: "none helps", rise: "0", best: best, bestAfter: best, season: "none helps",
		}
		if len(w.ThisLot) > 0 && w.ThisLot[0].Lifted > 0 {
			o := &w.ThisLot[0]
			row.remedy, row.rise, row.bestAfter = remedies(o), paper.Count(o.Lifted), paper.Percent(o.After.Best.Value())
		}
		if len(w.Season) > 0 && w.Season[0].Lifted > 0 {
			row.season = remedies(&w.Season[0]) + ", " + paper.Count(w.Season[0].Lifted) + " rise"
		}
		t.Rows = append(t.Rows, row.cells())
	}
	return t
}

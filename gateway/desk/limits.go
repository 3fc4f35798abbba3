package desk

import (
	"cmp"
	"net/http"
	"strconv"
	"strings"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/chart"
	"threshline/gateway/desk/paper"
	"threshline/gateway/desk/sheet"
	"threshline/grading"
	"threshline/session/ledger/figure"
)

// limitsPage shows what holds grades down, and each parameter's values beside
// its limits.
type limitsPage struct {
	ledgerPage
	Holding, Missing, Gates, Remedies paper.Table
	Parameters                        []parameterView
}

// parameterView is one parameter's distribution.
type parameterView struct {
	Label, Unit, Said string
	Chart             chart.Drawing
	Limits            paper.Table
}

func (d *seasonDesk) limits(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	p, c, err := d.overLedger(w, r, v)
	if err != nil {
		return err
	}
	s := &p.Summary
	page := limitsPage{ledgerPage: p, Holding: d.holding(s, &c, 0)}
	page.Missing = paper.Table{Caption: "Required, but not measured", Head: paper.Heads("Parameter", "#Lots", "#Share of all")}
	for _, m := range s.Missing {
		page.Missing.Add(d.parameterLabel(m.Standard, m.Key), paper.Count(m.Share.Count), paper.Percent(m.Share.Value()))
	}
	page.Gates = paper.Table{Caption: "Stopped outside the ladder of grades", Head: paper.Heads("Because of", "#Lots", "#Share of all")}
	for _, g := range s.Gates {
		page.Gates.Add(d.gateLabel(g.Standard, g.Key), paper.Count(g.Share.Count), paper.Percent(g.Share.Value()))
	}
	page.Remedies = paper.Table{Caption: "Remedies advised as most worth doing, when the newest check was filed", Head: paper.Heads("Remedy", "#Lots", "#Share of all", "#Weight")}
	for _, m := range s.Remedies {
		page.Remedies.Add(paper.Say("remedy", m.Key), paper.Count(m.Share.Count), paper.Percent(m.Share.Value()), paper.Weight(m.KG))
	}
	several := tablesOf(s)
	for i := range s.Parameters {
		if i >= mostParameters {
			break
		}
		page.Parameters = append(page.Parameters, d.parameterView(i, &s.Parameters[i], several))
	}
	return d.show(w, r, v, "limits", "What holds grade down", page)
}

// mostParameters bounds the charts of a page.
const mostParameters = 16

func (d *seasonDesk) parameterView(i int, p *figure.Distribution, several tables) parameterView {
	label := cmp.Or(p.Label, d.parameterLabel(p.Standard, p.Parameter))
	label += several.name(p.Standard)
	v := parameterView{Label: label, Unit: paper.Unit(p.Unit, p.Basis)}
	v.Said = "Measured in " + paper.Share(p.Measured) + " lots. Mean " + strconv.FormatFloat(p.Mean, 'f', p.Decimals+1, 64) +
		", median " + p.Median.AtLeast(p.Decimals) + ", nine in ten between " + p.P5.AtLeast(p.Decimals) + " and " + p.P95.AtLeast(p.Decimals) + "."
	v.Chart = chart.Histogram("parameter-"+strconv.Itoa(i), label, v.Unit, p)
	v.Limits = paper.Table{Caption: "Limits of " + label, Head: paper.Heads("Grade", "#Limit", "#Lots that meet it", "#Share", "#95% interval")}
	for _, l := range p.Limits {
		v.Limits.Add(string(l.Grade), boundText(&l.Bound, p.Decimals),
			paper.Count(l.Meets.Count), paper.Percent(l.Meets.Value()), paper.Interval(l.Meets))
	}
	return v
}

// boundText is a limit as a table says it.
func boundText(b *grading.Bound, places int) string {
	var parts []string
	if b.Min != nil {
		parts = append(parts, sheet.Sign("≥\u00a0", ">\u00a0", b.MinExclusive)+b.Min.AtLeast(places))
	}
	if b.Max != nil {
		parts = append(parts, sheet.Sign("≤\u00a0", "<\u00a0", b.MaxExclusive)+b.Max.AtLeast(places))
	}
	if b.WorstWord != "" {
		parts = append(parts, b.WorstWord+" or better")
	}
	return strings.Join(parts, ", ")
}

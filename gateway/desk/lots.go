package desk

import (
	"context"
	"io"
	"net/http"
	"strconv"
	"strings"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/gateway/desk/sheet"
	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
	"threshline/session/programme"
)

// lotDesk shows lots, and takes signs off them.
type lotDesk struct {
	*chooser
	records  Records
	entropy  io.Reader
	clearing Clear
}

// lotsPage lists checks, the last filed first.
type lotsPage struct {
	ledgerPage
	Find, NotFound string
	Rows           []lotRow
	Shown          string
	Rest           rest
	Older, Newer   string
}

// lotRow is one check in a list.
type lotRow struct {
	Slip          session.Slip
	When          string
	Place         string
	Agent, Grower paper.Cell
	Amount        string
	Grade, Held   string
	Remedy        string
	Mark          string // corrected, withdrawn, re-check
}

// perPage is how many rows a list shows at once.
const perPage = 50

func (d *lotDesk) lots(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	if typed := r.URL.Query().Get("slip"); typed != "" {
		return d.findLot(w, r, v, typed)
	}
	p, c, err := d.overLists(w, r, v)
	if err != nil {
		return err
	}
	most := rowsOf(r, perPage)
	skip, _ := strconv.Atoi(r.URL.Query().Get("skip"))
	skip = max(skip, 0)
	page := lotsPage{ledgerPage: p}
	checks, err := d.checks(r.Context(), c.Filter, skip, most+1)
	if err != nil {
		return err
	}
	if len(checks) > most {
		checks = checks[:most]
		page.Older = c.with(r.URL.Path, "skip", strconv.Itoa(skip+most))
	}
	if skip > 0 {
		page.Newer = c.with(r.URL.Path, "skip", strconv.Itoa(max(0, skip-most)))
	}
	named, likely := false, 0
	for i := range checks {
		row := d.lotRow(v, &checks[i])
		if checks[i].Ungraded() && likely < perPage { // more would keep a long list waiting
			row.Grade = d.likely(&checks[i])
			likely++
		}
		page.Rows = append(page.Rows, row)
		named = named || v.Knows(checks[i].Lot.District)
	}
	if len(checks) > 0 {
		page.Shown = "The last filed first, " + paper.Count(skip+1) + " to " + paper.Count(skip+len(checks)) + " of " + paper.Count(p.Summary.Checks) + "."
		page.Rest = restOf(&c, r.URL.Path, "check", len(checks), p.Summary.Checks)
	}
	if named {
		if err := d.seen(r.Context(), v, "the names in a list of lots", c.coded(d.terms, v)); err != nil {
			return err
		}
	}
	return d.show(w, r, v, "lots", "Lots", page)
}

// likely says the likely grades of a lot that was checked by hand.
func (d *lotDesk) likely(c *session.Check) string {
	scheme := *d.programme
	scheme.Standard = d.standard(c.StandardID, c.Edition)
	if scheme.Standard == nil || c.Readings.Signed() {
		return gradeOf(c)
	}
	judged, err := scheme.LikelyByHand(c.Lot, c.Readings)
	if err != nil { // counts that are not taken any more
		return gradeOf(c)
	}
	return sheet.Likely(scheme.Standard, &judged)
}

// findLot goes to the lot of a slip as people type it.
func (d *lotDesk) findLot(w http.ResponseWriter, r *http.Request, v *access.Visitor, typed string) error {
	slip, ok := session.ParseSlip(typed)
	if ok {
		http.Redirect(w, r, "/desk/lots/"+string(slip), http.StatusSeeOther)
		return nil
	}
	page := lotsPage{Find: typed, NotFound: "This is not a slip: one has seven letters and digits, and a wrong one is noticed by its last character. Look at it again."}
	p, _, err := d.overLists(w, r, v)
	page.ledgerPage = p
	if err == nil {
		d.Show(w, r, http.StatusOK, v, "lots", "Lots", page)
	}
	return err
}

// checks reads up to n checks of a filter after the first skip ones.
func (d *lotDesk) checks(ctx context.Context, f ledger.Filter, skip, n int) (list []session.Check, err error) {
	var slips []session.Slip
	for slip := range d.ledger.View().Slips(f) {
		if skip > 0 {
			skip--
			continue
		}
		if len(slips) == n {
			break
		}
		slips = append(slips, slip)
	}
	return checksOf(ctx, d.records, slips)
}

// checksOf reads checks by slip, in that order.
func checksOf(ctx context.Context, records Records, slips []session.Slip) (list []session.Check, err error) {
	if len(slips) == 0 {
		return nil, nil
	}
	err = records.Read(ctx, func(view session.View) error {
		list = list[:0]
		for _, slip := range slips {
			c, err := view.Check(slip)
			if err != nil {
				return err
			}
			list = append(list, c)
		}
		return nil
	})
	return list, err
}

func (d *lotDesk) lotRow(v *access.Visitor, c *session.Check) lotRow {
	row := lotRow{
		Slip: c.Slip, When: c.At.In(d.zone).Format(paper.DateTime), Place: place(c.Lot.District, c.Lot.Village),
		Agent: paper.Cell{Text: d.nameOf(v, c.Agent)}, Grower: paper.Cell{Text: d.nameOf(v, c.Lot.Grower)},
		Amount: amount(c.Lot), Grade: gradeOf(c), Held: d.held(c), Remedy: paper.Say("remedy", c.Remedy),
	}
	if c.Lot.Grower != "" {
		row.Grower.Link = "/desk/growers/" + string(c.Lot.Grower)
	}
	switch {
	case c.State != session.Filed:
		row.Mark = string(c.State)
	case len(programme.Unfit(c)) > 0:
		row.Mark = "not accepted"
	case c.Readings.ByHand():
		row.Mark = "by hand"
	case c.Pooled():
		row.Mark = "second sample"
	case !c.First():
		row.Mark = "re-check"
	case c.Borderline:
		row.Mark = "borderline"
	}
	return row
}

func place(district, village string) string {
	if village == "" {
		return paper.Or(district, "not said")
	}
	return paper.Or(district, "not said") + ", " + village
}

// amount is how much a lot is.
func amount(l session.Lot) string {
	switch {
	case l.Bags > 0 && l.KG > 0:
		return paper.Plural(l.Bags, "bag") + ", " + paper.Weight(l.KG)
	case l.Bags > 0:
		return paper.Plural(l.Bags, "bag")
	case l.KG == 0:
		return "weight not known"
	}
	return paper.Weight(l.KG)
}

// gradeOf is a check's grade as it was decided.
func gradeOf(c *session.Check) string {
	switch {
	case c.Ungraded():
		return "by hand"
	case c.Rank > c.Of:
		return string(c.Grade)
	case !c.Complete:
		return "no better than " + string(c.Grade)
	}
	return string(c.Grade)
}

// held is what holds a check's grade down.
func (d *terms) held(c *session.Check) string {
	var what []string
	for _, gate := range c.Gates {
		what = append(what, d.stoppedBy(c, gate))
	}
	for _, id := range c.Deciding {
		what = append(what, d.parameterLabel(c.StandardID, id))
	}
	if c.Grade == grading.NoGrade && !c.Readings.ByHand() {
		what = append(what, "nothing was measured")
	}
	if c.Ungraded() {
		return "not measured"
	}
	return paper.Or(strings.Join(what, ", "), "nothing")
}

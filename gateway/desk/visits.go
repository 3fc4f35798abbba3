package desk

import (
	"net/http"
	"time"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/session/ledger"
	"threshline/session/programme"
)

// mostVisits is how many lots to visit the first page lists.
const mostVisits = 10

// visits lists lots of the filter that are in danger by their newest check, at
// most so many, from the last seven days or since the filter's first day.
// Coordinators had an SMS about them. It also returns how many there are.
func (d *seasonDesk) visits(f ledger.Filter, most int) (t paper.Table, of int) {
	now := d.now().In(d.zone)
	since := "of the last seven days"
	if week := time.Date(now.Year(), now.Month(), now.Day()-6, 0, 0, 0, 0, time.UTC); f.From.IsZero() {
		f.From = week
	} else {
		since = "since " + f.From.Format("2 Jan 2006")
	}
	f.Way = ledger.EitherWay
	list := d.ledger.View().Visits(f)
	t = paper.Table{
		Caption: "Lots " + since + " that are mouldy or smell so, hold treated seed, are warm, have live insects, or are wetter than " +
			programme.WetAbove.Fixed(0) + "%",
		Head: paper.Heads("Slip", "Checked", "Place", "What"),
	}
	of = len(list)
	for _, v := range list[:min(most, of)] {
		t.Rows = append(t.Rows, paper.Linked("/desk/lots/"+string(v.Slip), string(v.Slip), d.day(v.At), place(v.District, v.Village), dangersSaid(v.Dangers)))
	}
	return t, of
}

// visitsPage is the list to take along: every lot to visit.
type visitsPage struct {
	ledgerPage
	Visits paper.Table
	Rest   rest
}

func (d *seasonDesk) toVisit(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	p, c, err := d.overLists(w, r, v)
	if err != nil {
		return err
	}
	page := visitsPage{ledgerPage: p}
	var of int
	page.Visits, of = d.visits(c.Filter, rowsOf(r, perPage))
	page.Rest = restOf(&c, r.URL.Path, "lot", len(page.Visits.Rows), of)
	return d.show(w, r, v, "visits", "Lots to visit", page)
}

// dangersSaid names dangers as a sentence does.
func dangersSaid(dangers []programme.Danger) string {
	var said []string
	for _, one := range dangers {
		kind := "saw"
		if one == programme.Insects || one == programme.Wet {
			kind = "danger"
		}
		said = append(said, paper.Say(kind, one))
	}
	return paper.List(said)
}

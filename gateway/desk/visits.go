package desk

import (
	"time"

	"threshline/session"
	"threshline/session/ledger"
)

// mostVisits is how many lots to visit the first page lists.
const mostVisits = 10

// visits lists the lots of the filter that are in danger as they were checked
// last, within the last seven days: what coordinators were told of by SMS.
func (d *Desk) visits(f ledger.Filter) table {
	now := d.cfg.Now().In(d.cfg.Programme.Zone)
	if week := time.Date(now.Year(), now.Month(), now.Day()-6, 0, 0, 0, 0, time.UTC); f.From.Before(week) {
		f.From = week
	}
	list := d.cfg.Ledger.View().Visits(f, d.cfg.Programme.Dangers)
	t := table{
		Caption: "Lots of the last seven days that are mouldy or smell so, hold treated seed, are warm, have live insects, or are wetter than " +
			session.WetAbove.Fixed(0) + thin + "%",
		Head: heads("Slip", "Checked", "Place", "What"),
	}
	if len(list) > mostVisits {
		t.Caption += ": the newest " + count(mostVisits) + " of " + count(len(list))
		list = list[:mostVisits]
	}
	for _, v := range list {
		row := cells(string(v.Slip), v.At.In(d.cfg.Programme.Zone).Format("2 Jan 2006"), place(v.District, v.Village), dangersSaid(v.Dangers))
		row[0].Link = "/desk/lots/" + string(v.Slip)
		t.Rows = append(t.Rows, row)
	}
	return t
}

// dangersSaid names dangers as a sentence does.
func dangersSaid(dangers []session.Danger) string {
	var said []string
	for _, one := range dangers {
		kind := "saw"
		if one == session.Insects || one == session.Wet {
			kind = "danger"
		}
		said = append(said, say(kind, one))
	}
	return list(said)
}

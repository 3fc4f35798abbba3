package desk

import (
	"time"

	"threshline/gateway/desk/paper"
	"threshline/session/ledger"
	"threshline/session/programme"
)

// mostVisits is how many lots to visit the first page lists.
const mostVisits = 10

// visits lists the lots of the filter that are in danger as they were checked
// last, within the last seven days: what coordinators were told of by SMS.
func (d *Desk) visits(f ledger.Filter) paper.Table {
	now := d.cfg.Now().In(d.cfg.Programme.Zone)
	if week := time.Date(now.Year(), now.Month(), now.Day()-6, 0, 0, 0, 0, time.UTC); f.From.Before(week) {
		f.From = week
	}
	list := d.cfg.Ledger.View().Visits(f)
	t := paper.Table{
		Caption: "Lots of the last seven days that are mouldy or smell so, hold treated seed, are warm, have live insects, or are wetter than " +
			programme.WetAbove.Fixed(0) + paper.Thin + "%",
		Head: paper.Heads("Slip", "Checked", "Place", "What"),
	}
	if len(list) > mostVisits {
		t.Caption += ": the newest " + paper.Count(mostVisits) + " of " + paper.Count(len(list))
		list = list[:mostVisits]
	}
	for _, v := range list {
		t.Rows = append(t.Rows, paper.Linked("/desk/lots/"+string(v.Slip), string(v.Slip), v.At.In(d.cfg.Programme.Zone).Format("2 Jan 2006"), place(v.District, v.Village), dangersSaid(v.Dangers)))
	}
	return t
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

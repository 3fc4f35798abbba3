package desk

import "threshline/session/ledger"

// holding lists what holds grades down, most often first; at most most rows, 0
// is all.
func (d *Desk) holding(s *ledger.Summary, c *chosen, most int) table {
	t := table{
		Caption: "What holds grades down, most often first. A check can be held down by several things at once.",
		Head:    heads("Parameter", "#Checks", "#Share of all", "#95 % interval", "#Alone", "#Mass"),
	}
	for i, tally := range s.Deciding {
		if most > 0 && i >= most {
			break
		}
		row := cells(d.parameterLabel(tally.Standard, tally.Key), count(tally.Share.Count), percent(tally.Share.Value()),
			intervalText(tally.Share), count(tally.Alone), mass(tally.KG))
		row[0].Link = c.with("/desk/lots", "deciding", string(tally.Key))
		t.Rows = append(t.Rows, row)
	}
	return t
}

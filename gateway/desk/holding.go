package desk

import (
	"threshline/gateway/desk/paper"
	"threshline/session/ledger"
)

// holding lists what holds grades down, most often first; at most most rows, 0
// is all.
func (d *terms) holding(s *ledger.Summary, c *chosen, most int) paper.Table {
	t := paper.Table{
		Caption: "What holds grades down, most often first. A lot can be held down by several things at once.",
		Head:    paper.Heads("Parameter", "#Lots", "#Share of all", "#95% interval", "#Alone", "#Weight"),
	}
	for i, tally := range s.Deciding {
		if most > 0 && i >= most {
			break
		}
		t.Rows = append(t.Rows, paper.Linked(c.lots("deciding", string(tally.Key)),
			d.parameterLabel(tally.Standard, tally.Key), paper.Count(tally.Share.Count), paper.Percent(tally.Share.Value()),
			paper.Interval(tally.Share), paper.Count(tally.Alone), paper.Weight(tally.KG)))
	}
	return t
}

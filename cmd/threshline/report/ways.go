package report

import (
	"fmt"

	"threshline/advice"
)

// ways prints what remains after selling the lot now, mending, drying and keeping it,
// the best with a star: at the prices in force, net of work, fees and lost weight.
func (p *page) ways(g *Grader, l *lot) {
	if l.KG <= 0 {
		return
	}
	ways := advice.WaysFor(l.Case)
	if ways.Best < 0 {
		return
	}
	p.heading("Sell now, mend, dry or keep")
	for i := range ways.List {
		way := &ways.List[i]
		mark, what := " ", string(way.Becomes)
		if i == ways.Best {
			mark = "*"
		}
		switch {
		case len(l.Settings.Prices) > 0 && !way.Known:
			what += ", price not known"
		case ways.InMoney && way.ID == advice.KeepIt:
			what += fmt.Sprintf(", %s at today's price: %s", g.moneyText(way.Money), riseText(way.Rise))
		case ways.InMoney:
			what += ", " + g.moneyText(way.Money)
		}
		name := string(way.ID)
		if len(way.Set) > 0 {
			name += " (" + Join(way.Set) + ")"
		}
		p.line("%s %s: %s", mark, name, what)
	}
	if ways.First != "" {
		p.line("first %s", ways.First)
	}
}

// riseText says by how much the price has to rise, in percent, before keeping pays.
func riseText(rise float64) string {
	if rise < 0.05 {
		return "pays as soon as it rises"
	}
	return fmt.Sprintf("pays when it rises by %.1f %%", rise)
}

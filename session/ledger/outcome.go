package ledger

import (
	"cmp"
	"slices"

	"threshline/advice"
	"threshline/grading"
	"threshline/session/ledger/figure"
)

// whatIf writes the counts out.
func (r *reckoning) whatIf() WhatIf {
	total := r.total()
	grades, place := r.gradeNames(&total)
	d := r.written(&total, "", place, len(grades))
	out := WhatIf{
		Lots: d.Lots, Refused: d.Refused, Grades: grades, Before: d.Before, InMoney: r.inMoney(),
		ThisLot: d.ThisLot, Season: d.Season, ThisLotTwo: d.ThisLotTwo, SeasonTwo: d.SeasonTwo,
	}
	for i := range r.parts {
		if p := &r.parts[i]; p.lots+p.refused > 0 {
			out.Districts = append(out.Districts, r.written(p, r.names.list[i], place, len(grades)))
		}
	}
	slices.SortFunc(out.Districts, func(a, b DistrictWhatIf) int {
		return cmp.Or(cmp.Compare(b.Lots, a.Lots), cmp.Compare(a.District, b.District))
	})
	return out
}

// gradeNames lists the grades of the tables that occur, and the place of each slot.
func (r *reckoning) gradeNames(total *part) (list []GradeName, place []int) {
	s := &r.v.shelf
	lots := make([]int, len(r.market))
	var tables []int
	for t := range r.market {
		m := &r.market[t]
		for i := range m.labels {
			lots[t] += total.slots[m.first+i]
		}
		if lots[t] > 0 {
			tables = append(tables, t)
		}
	}
	slices.SortFunc(tables, func(a, b int) int {
		return cmp.Or(cmp.Compare(lots[b], lots[a]), cmp.Compare(s.tables[a].standard, s.tables[b].standard),
			cmp.Compare(s.tables[a].edition, s.tables[b].edition), cmp.Compare(s.tables[b].procedure, s.tables[a].procedure))
	})
	place = make([]int, r.slots)
	for _, t := range tables {
		m := &r.market[t]
		for i, label := range m.labels {
			place[m.first+i] = len(list)
			list = append(list, GradeName{s.tables[t].standard, s.tables[t].edition, s.tables[t].procedure, label, i + 1, m.of})
		}
	}
	return list, place
}

// written is one part, written out.
func (r *reckoning) written(p *part, name string, place []int, grades int) DistrictWhatIf {
	out := DistrictWhatIf{District: name, Lots: p.lots, Refused: p.refused, Before: r.stand(p, nil, place, grades)}
	for _, n := range r.order(p, advice.ThisLot) {
		out.ThisLot = append(out.ThisLot, r.outcome(p, &p.done[n], []int{n}, place, grades))
	}
	for _, n := range r.order(p, advice.NextSeason) {
		out.Season = append(out.Season, r.outcome(p, &p.done[n], []int{n}, place, grades))
	}
	for kind, two := range r.season {
		if two.first < 0 {
			continue
		}
		o := r.outcome(p, &p.done[len(r.tried)+kind], []int{two.first, two.second}, place, grades)
		if kind == 0 {
			out.ThisLotTwo = &o
		} else {
			out.SeasonTwo = &o
		}
	}
	return out
}

// stand is how a part stands now, or after a change.
func (r *reckoning) stand(p *part, d *change, place []int, grades int) Standing {
	s := Standing{
		Grades: make([]int, grades), KG: grading.Decimal(p.kg), Money: grading.Decimal(p.money), Priced: p.priced,
		InGrade: figure.Share{Of: p.lots}, Best: figure.Share{Of: p.lots},
	}
	if d != nil {
		s.KG, s.Money = s.KG-grading.Decimal(d.kg), s.Money+grading.Decimal(d.money)
	}
	for t := range r.market {
		m := &r.market[t]
		for i := range m.labels {
			n := p.slots[m.first+i]
			if d != nil {
				n += d.slots[m.first+i]
			}
			if n == 0 {
				continue
			}
			s.Grades[place[m.first+i]] += n
			if i < m.of {
				s.InGrade.Count += n
			}
			if i == 0 {
				s.Best.Count += n
			}
		}
	}
	return s
}

func (r *reckoning) outcome(p *part, d *change, remedies []int, place []int, grades int) Outcome {
	o := Outcome{
		When: r.tried[remedies[0]].When, Done: d.done, Lifted: d.lifted, Lowered: d.lowered,
		After: r.stand(p, d, place, grades), Steps: d.steps,
		KGLost: grading.Decimal(d.kg), MoneyGained: grading.Decimal(d.money),
		LiftedKGLost: grading.Decimal(d.liftedKG), LiftedMoneyGained: grading.Decimal(d.liftedMoney),
	}
	for _, n := range remedies {
		o.Remedies = append(o.Remedies, r.tried[n].ID)
	}
	o.Hours, o.Cost, o.CostUnknown = r.cost(&d.load, remedies)
	o.LiftedHours, o.LiftedCost, _ = r.cost(&d.liftedLoad, remedies)
	return o
}

package ledger

import (
	"cmp"
	"slices"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/session/ledger/figure"
)

// summary writes the counts out.
func (t *tally) summary() Summary {
	out := Summary{
		Checks: t.checks, Corrected: t.corrected, Withdrawn: t.withdrawn, Lots: t.lots, Weighed: t.weighed,
		InGrade: figure.Share{Of: t.lots}, Best: figure.Share{Of: t.lots},
		Borderline: figure.Share{Of: t.lots}, Incomplete: figure.Share{Of: t.lots},
	}
	if t.checks > 0 {
		out.FirstDay, out.LastDay = dayName(int(t.firstDay)), dayName(int(t.lastDay))
	}
	complete, confidence := int64(0), int64(0)
	for i, n := range t.verdicts {
		v := &t.shelf.verdicts[i]
		st := &t.shelf.standings[v.standing]
		out.KG += grading.Decimal(n.kg)
		out.Borderline.Count += int(n.borderline)
		if st.rank <= st.of {
			out.InGrade.Count += int(n.lots)
		}
		if st.rank == 1 {
			out.Best.Count += int(n.lots)
		}
		if v.complete {
			complete, confidence = complete+n.lots, confidence+n.confidence
		} else {
			out.Incomplete.Count += int(n.lots)
		}
	}
	out.Confidence = mean(confidence, complete, 10000)
	var place []int
	out.Grades, place = t.grades()
	t.lists(&out)
	t.groups(&out, place)
	out.Parameters = t.distributions()
	out.Rechecks = t.pairs.rechecks(t.shelf, place)
	return out
}

func mean(sum, n int64, scale float64) float64 {
	if n == 0 {
		return 0
	}
	return float64(sum) / float64(n) / scale
}

// dayName writes a day counted from 1970.
func dayName(day int) string { return time.Unix(int64(day)*86400, 0).UTC().Format(time.DateOnly) }

// grades lists the grades that occur and those beside them in known tables, and where
// each standing went. The check before a re-check may need a standing that no matching
// check has: it is listed too.
func (t *tally) grades() (list []GradeTally, place []int) {
	s := t.shelf
	checks, lots, kg := make([]int64, len(s.standings)), make([]int64, len(s.standings)), make([]int64, len(s.standings))
	complete, confidence := make([]int64, len(s.standings)), make([]int64, len(s.standings))
	byTable, lotsOf := make([]int64, len(s.tables)), make([]int64, len(s.tables))
	for i, n := range t.verdicts {
		v := &s.verdicts[i]
		checks[v.standing] += n.checks
		lots[v.standing] += n.lots
		kg[v.standing] += n.kg
		byTable[v.table] += n.checks
		lotsOf[v.table] += n.lots
		if v.complete {
			complete[v.standing] += n.lots
			confidence[v.standing] += n.confidence
		}
	}
	wanted := make([]bool, len(s.standings))
	for k := range t.pairs.moves {
		wanted[k[0]], wanted[k[1]] = true, true
	}
	var rows []gradeRow
	seen := map[standing]bool{}
	for i, st := range s.standings {
		if checks[i] == 0 && !wanted[i] {
			continue
		}
		seen[st] = true
		rows = append(rows, gradeRow{GradeTally{
			Label: st.label, Rank: st.rank, Of: st.of, KG: grading.Decimal(kg[i]),
			Share:      figure.Share{Count: int(lots[i]), Of: int(lotsOf[st.table])},
			Confidence: mean(confidence[i], complete[i], 10000),
		}, st.table, i})
	}
	rows = append(rows, s.unreached(lotsOf, byTable, seen)...)
	slices.SortFunc(rows, func(a, b gradeRow) int {
		x, y := s.tables[a.table], s.tables[b.table]
		return cmp.Or(cmp.Compare(byTable[b.table], byTable[a.table]), cmp.Compare(x.standard, y.standard),
			cmp.Compare(x.edition, y.edition), cmp.Compare(y.procedure, x.procedure), cmp.Compare(a.Rank, b.Rank), cmp.Compare(a.Of, b.Of), cmp.Compare(a.Label, b.Label))
	})
	place = make([]int, len(s.standings))
	for n, r := range rows {
		r.Standard, r.Edition, r.Procedure = s.tables[r.table].standard, s.tables[r.table].edition, s.tables[r.table].procedure
		list = append(list, r.GradeTally)
		if r.standing >= 0 {
			place[r.standing] = n
		}
	}
	return list, place
}

// gradeRow is a grade's tally on its way into the list: of a table, and of a
// standing, -1 where no check has it.
type gradeRow struct {
	GradeTally
	table    uint32
	standing int
}

// unreached are the grades of the tables in use that none of their checks has.
func (s *shelf) unreached(lots, checks []int64, seen map[standing]bool) (rows []gradeRow) {
	for table, n := range checks {
		known := s.standards[table]
		if known == nil || n == 0 {
			continue
		}
		for g := range known.Grades {
			st := standing{uint32(table), g + 1, len(known.Grades), known.Grades[g].Label}
			if !seen[st] {
				rows = append(rows, gradeRow{GradeTally{Label: st.label, Rank: st.rank, Of: st.of, Share: figure.Share{Count: 0, Of: int(lots[table])}}, st.table, -1})
			}
		}
	}
	return rows
}

// counter adds up a Tally list.
type counter[K ~string] struct {
	of   int
	rows map[[2]string]*Tally[K]
}

func (c *counter[K]) add(standard string, key K, n *verdictCount, alone bool) {
	if c.rows == nil {
		c.rows = map[[2]string]*Tally[K]{}
	}
	k := [2]string{standard, string(key)}
	row := c.rows[k]
	if row == nil {
		row = &Tally[K]{Standard: standard, Key: key, Share: figure.Share{Of: c.of}}
		c.rows[k] = row
	}
	row.Share.Count += int(n.lots)
	row.KG += grading.Decimal(n.kg)
	if alone {
		row.Alone += int(n.lots)
	}
}

func (c *counter[K]) list() []Tally[K] {
	var list []Tally[K]
	for _, row := range c.rows {
		list = append(list, *row)
	}
	slices.SortFunc(list, func(a, b Tally[K]) int {
		return cmp.Or(cmp.Compare(b.Share.Count, a.Share.Count), cmp.Compare(a.Key, b.Key), cmp.Compare(a.Standard, b.Standard))
	})
	return list
}

// lists counts what the verdicts list.
func (t *tally) lists(out *Summary) {
	deciding, missing := counter[grading.ParameterID]{of: t.lots}, counter[grading.ParameterID]{of: t.lots}
	gates, remedies := counter[string]{of: t.lots}, counter[advice.RemedyID]{of: t.lots}
	for i := range t.verdicts {
		n, v := &t.verdicts[i], &t.shelf.verdicts[i]
		if n.lots == 0 {
			continue
		}
		standard := t.shelf.tables[v.table].standard
		for _, id := range v.deciding {
			deciding.add(standard, id, n, len(v.deciding) == 1)
		}
		for _, id := range v.missing {
			missing.add(standard, id, n, len(v.missing) == 1)
		}
		for _, id := range v.gates {
			gates.add(standard, id, n, len(v.gates) == 1)
		}
		if v.remedy != "" {
			remedies.add("", v.remedy, n, true)
		}
	}
	out.Deciding, out.Missing, out.Gates, out.Remedies = deciding.list(), missing.list(), gates.list(), remedies.list()
}

// distributions writes the values out.
func (t *tally) distributions() []figure.Distribution {
	byTable := make([]int, len(t.shelf.tables))
	for i, n := range t.verdicts {
		byTable[t.shelf.verdicts[i].table] += int(n.lots)
	}
	wides := map[uint32]map[grading.Decimal]int{}
	for _, w := range t.others {
		if wides[w.parameter] == nil {
			wides[w.parameter] = map[grading.Decimal]int{}
		}
		wides[w.parameter][w.value]++
	}
	var list []figure.Distribution
	for _, n := range t.shelf.inOrder() {
		p := &t.shelf.parameters[n]
		values := valuesOf(t.values[n], p.step, wides[uint32(n)])
		if len(values) == 0 {
			continue
		}
		ed := t.shelf.tables[p.table]
		d := figure.Distribution{Standard: ed.standard, Edition: ed.edition, Procedure: ed.procedure, Parameter: p.id, Values: values, Decimals: usualDecimals}
		d.Describe(byTable[p.table])
		if p.of != nil {
			d.Label, d.Unit, d.Basis, d.Decimals = p.of.Label, p.of.Unit, p.of.Basis, p.of.Decimals
			d.Meet(t.shelf.standards[p.table])
		}
		list = append(list, d)
	}
	return list
}

// valuesOf lists values with their counts, ascending.
func valuesOf(counts []uint32, step grading.Decimal, wides map[grading.Decimal]int) []figure.Value {
	var list []figure.Value
	for cell, n := range counts {
		if n > 0 {
			list = append(list, figure.Value{Value: grading.Decimal(cell-1) * step, Lots: int(n)})
		}
	}
	for v, n := range wides {
		list = append(list, figure.Value{Value: v, Lots: n})
	}
	slices.SortFunc(list, func(a, b figure.Value) int { return cmp.Compare(a.Value, b.Value) })
	return list
}

package ledger

import (
	"cmp"
	"slices"

	"threshline/session/ledger/figure"
)

// EveryProcedure, as Filter.Procedure, adds up the checks of all editions of the
// procedure. Use it for lists of what there is, never for figures.
const EveryProcedure = -1

// firstProcedure is the edition of checks filed before editions were noted.
const firstProcedure = 1

// ByProcedure is the checks that were made by one edition of the procedure.
type ByProcedure struct {
	Procedure, Checks int
	Lots              int // those whose newest check is one of them
	InGrade           figure.Share
}

// alike narrows a filter without an edition of the procedure to the newest edition that
// occurs in it, since figures over two editions mean nothing. It also counts the other
// editions, the newer first.
func (v *View) alike(f Filter) (Filter, []ByProcedure) {
	if f.Procedure != 0 {
		return f, nil
	}
	first := func(e edition) bool { return e.procedure != v.shelf.tables[0].procedure }
	if !slices.ContainsFunc(v.shelf.tables, first) {
		return f, nil
	}
	list := v.byProcedure(&f)
	if len(list) < 2 {
		return f, nil
	}
	f.Procedure = list[0].Procedure
	return f, list[1:]
}

// byProcedure counts the checks chosen by f, the newest edition first.
func (v *View) byProcedure(f *Filter) (list []ByProcedure) {
	t := v.tally(f, func(t *tally, m *matcher, c *chunk, space []uint16) {
		for _, i := range m.rows(c, space) {
			n := &t.verdicts[c.verdict[i]]
			n.checks++
			if m.ofLot(c, i) {
				n.lots++
			}
		}
	})
	for i, n := range t.verdicts {
		if n.checks == 0 {
			continue
		}
		verdict := &t.shelf.verdicts[i]
		procedure, st := t.shelf.tables[verdict.table].procedure, &t.shelf.standings[verdict.standing]
		at := slices.IndexFunc(list, func(p ByProcedure) bool { return p.Procedure == procedure })
		if at < 0 {
			at, list = len(list), append(list, ByProcedure{Procedure: procedure})
		}
		p := &list[at]
		p.Checks, p.Lots, p.InGrade.Of = p.Checks+int(n.checks), p.Lots+int(n.lots), p.InGrade.Of+int(n.lots)
		if st.rank <= st.of {
			p.InGrade.Count += int(n.lots)
		}
	}
	slices.SortFunc(list, func(a, b ByProcedure) int { return cmp.Compare(b.Procedure, a.Procedure) })
	return list
}

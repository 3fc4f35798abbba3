package ledger

import (
	"cmp"
	"slices"

	"threshline/grading"
	"threshline/session/ledger/hands"
)

// Rechecks is what changed between re-checks and the checks before them. Only those
// graded by the same table, from readings by the same procedure, are compared.
type Rechecks struct {
	// Pairs are re-checks whose check before is known, without those that were pooled
	// with it because nothing was done to the lot. Compared are those of one table;
	// Better, Same and Worse are these by rank.
	Pairs, Compared, Better, Same, Worse int
	// Steps is by how many grades a lot rose on average; negative if lots fell.
	Steps float64
	// KG is how much lighter the lots became that were weighed both times.
	KG       grading.Decimal
	Weighed  int
	Moves    []Move
	Measured []Measured
}

// Move is how many lots went from one grade to another, or stayed. From and To
// are places in Summary.Grades.
type Move struct{ From, To, Lots int }

// Measured is one parameter over the pairs in which it has a value both times.
type Measured struct {
	Standard  string
	Parameter grading.ParameterID
	Pairs     int
	// Before and After are means of the values as shown.
	Before, After float64
	// Fell and Rose are how many values became smaller and larger.
	Fell, Rose int
}

// pairs counts re-checks against the checks before them.
type pairs struct {
	all, compared, better, same, worse, weighed int
	steps, kg                                   int64
	moves                                       map[[2]uint32]int // by standing
	parameters                                  []pairValues
}

type pairValues struct{ n, fell, rose, before, after int64 }

// count adds the pair of row i of c and the row before.
func (p *pairs) count(t *tally, c *chunk, i int, before uint32) {
	old, j := t.all[before/chunkRows], int(before%chunkRows)
	p.all++
	was, is := &t.shelf.verdicts[old.verdict[j]], &t.shelf.verdicts[c.verdict[i]]
	if c.marks[i]&old.marks[j]&markWeighed != 0 {
		p.weighed++
		p.kg += int64(old.kg[j] - c.kg[i])
	}
	if was.table != is.table {
		return
	}
	p.compared++
	p.moves[[2]uint32{was.standing, is.standing}]++
	steps := t.shelf.standings[was.standing].rank - t.shelf.standings[is.standing].rank
	p.steps += int64(steps)
	switch {
	case steps > 0:
		p.better++
	case steps < 0:
		p.worse++
	default:
		p.same++
	}
	for n := range c.values {
		step := t.shelf.parameters[n].step
		after, ok := c.value(uint32(n), i, step)
		first, both := old.value(uint32(n), j, step)
		if !ok || !both {
			continue
		}
		v := &p.parameters[n]
		v.n, v.before, v.after = v.n+1, v.before+int64(first), v.after+int64(after)
		if after < first {
			v.fell++
		} else if after > first {
			v.rose++
		}
	}
}

func (p *pairs) add(o *pairs) {
	p.all, p.compared, p.weighed = p.all+o.all, p.compared+o.compared, p.weighed+o.weighed
	p.better, p.same, p.worse = p.better+o.better, p.same+o.same, p.worse+o.worse
	p.steps, p.kg = p.steps+o.steps, p.kg+o.kg
	for k, n := range o.moves {
		p.moves[k] += n
	}
	for i := range o.parameters {
		a, b := &p.parameters[i], &o.parameters[i]
		*a = pairValues{a.n + b.n, a.fell + b.fell, a.rose + b.rose, a.before + b.before, a.after + b.after}
	}
}

// rechecks writes the pairs out. place finds a standing in Summary.Grades.
func (p *pairs) rechecks(s *shelf, place []int) Rechecks {
	r := Rechecks{
		Pairs: p.all, Compared: p.compared, Better: p.better, Same: p.same, Worse: p.worse,
		KG: grading.Decimal(p.kg), Weighed: p.weighed,
	}
	if p.compared > 0 {
		r.Steps = float64(p.steps) / float64(p.compared)
	}
	for k, n := range p.moves {
		r.Moves = append(r.Moves, Move{place[k[0]], place[k[1]], n})
	}
	slices.SortFunc(r.Moves, func(a, b Move) int { return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To)) })
	for _, n := range s.inOrder() {
		v := &p.parameters[n]
		if v.n == 0 {
			continue
		}
		scale := float64(grading.One) * float64(v.n)
		r.Measured = append(r.Measured, Measured{
			Standard: s.tables[s.parameters[n].table].standard, Parameter: s.parameters[n].id, Pairs: int(v.n),
			Before: float64(v.before) / scale, After: float64(v.after) / scale, Fell: int(v.fell), Rose: int(v.rose),
		})
	}
	return r
}

// inOrder lists the parameters by standard and edition, then in the standard's own
// order; parameters that it does not know come last, by name.
func (s *shelf) inOrder() []int {
	list := make([]int, len(s.parameters))
	own := make([]int, len(s.parameters))
	for i := range list {
		list[i], own[i] = i, 1<<30
		if table := s.standards[s.parameters[i].table]; table != nil {
			for n := range table.Parameters {
				if table.Parameters[n].ID == s.parameters[i].id {
					own[i] = n
				}
			}
		}
	}
	slices.SortFunc(list, func(a, b int) int {
		x, y := s.tables[s.parameters[a].table], s.tables[s.parameters[b].table]
		return cmp.Or(cmp.Compare(x.standard, y.standard), cmp.Compare(x.edition, y.edition), cmp.Compare(y.procedure, x.procedure),
			cmp.Compare(own[a], own[b]), cmp.Compare(s.parameters[a].id, s.parameters[b].id))
	})
	return list
}

// Reach counts the checks by hand chosen by f, whatever it says of the way.
func (v *View) Reach(f Filter) hands.Reach {
	f.Way = ByHand
	m, space := v.match(&f), make([]uint16, 0, chunkRows)
	return hands.Of(func(yield func(hands.Check) bool) {
		for _, c := range v.chunks {
			for _, i := range m.rows(c, space) {
				if !yield(hands.Check{
					District: v.shelf.places[c.place[i]].district, Week: dayName(int(weekOf(c.day[i]))*7 - 3),
					Grower: v.shelf.people[c.grower[i]], First: c.before[i] == 0 || marksAt(v.chunks, c.before[i]-1)&markHand == 0,
				}) {
					return
				}
			}
		}
	})
}

// HandPairs lists the checks with the kit, chosen by f, of lots that were checked
// by hand before, about in the order of filing, the last first, at most n; of is
// how many there are.
func (v *View) HandPairs(f Filter, n int) (pairs []hands.Pair, of int) {
	f.Way = WithKit
	m, space := v.match(&f), make([]uint16, 0, chunkRows)
	for _, c := range v.chunks {
		for _, i := range m.rows(c, space) {
			if before := c.before[i]; before != 0 && marksAt(v.chunks, before-1)&(markHand|markGone) == markHand {
				hand := v.chunks[(before-1)/chunkRows].slip[(before-1)%chunkRows]
				pairs = append(pairs, hands.Pair{Hand: v.shelf.slip(hand), Kit: v.shelf.slip(c.slip[i])})
			}
		}
	}
	slices.Reverse(pairs)
	return pairs[:min(n, len(pairs))], len(pairs)
}

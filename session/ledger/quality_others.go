package ledger

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"threshline/grading"
	"threshline/session/ledger/figure"
	"threshline/session/ledger/packed"
)

// lasting are the faults that no work on a lot mends and that do not grow in the store.
var lasting = slices.DeleteFunc(grading.Fields(), func(f grading.Field) bool { return !f.Lasting() })

// recheck compares a check with a re-check of it by somebody else.
func (e *evidence) recheck(c *chunk, i int, before uint32, again *grading.Readings, p *packed.Paces) {
	old, j := e.v.chunks[before/chunkRows], int(before%chunkRows)
	first := old.reporter[j]
	if first == c.reporter[i] || old.marks[j]&(markGone|markHand) != 0 || e.v.shelf.people[first] == "" {
		return
	}
	r := e.of(first)
	was, is := &e.v.shelf.verdicts[old.verdict[j]], &e.v.shelf.verdicts[c.verdict[i]]
	if was.table == is.table {
		switch a, b := e.v.shelf.standings[was.standing].rank, e.v.shelf.standings[is.standing].rank; {
		case a < b:
			r.better++
		case a > b:
			r.worse++
		}
	}
	if e.v.shelf.tables[was.table].procedure != e.v.shelf.tables[is.table].procedure {
		return // other grains came to lie on the pan
	}
	var u packed.Reader
	countedAgain(&r.counted, u.Readings(old.bytes(j)), again, p)
}

// countedAgain adds the lasting faults that were counted again, each as a table of two
// by two: faulty and sound, by the one and by the other.
func countedAgain(k *figure.Pairs, first, again *grading.Readings, p *packed.Paces) {
	n1, ok1 := first.Get(grading.Counted)
	n2, ok2 := again.Get(grading.Counted)
	if !ok1 || !ok2 {
		return
	}
	any := false
	for _, f := range lasting {
		x1, one := first.Get(f)
		x2, two := again.Get(f)
		if !one || !two || p.Known && p.At[f] < 0 { // carried over from the check before
			continue
		}
		if n1.Float()+n2.Float() < 2 {
			continue
		}
		any = true
		k.Add(x1.Float(), n1.Float(), x2.Float(), n2.Float())
	}
	if any {
		k.Count++
	}
}

// recheckCounts tests whether a reporter and those who count again find the same, lot
// by lot and fault by fault (figure.Pairs). If
// there are five or more reporters, its variance is widened by how much such findings
// scatter between them.
func (e *evidence) recheckCounts() (all []Finding) {
	var z []float64
	for _, r := range e.reporters {
		k := &r.counted
		if k.Count < leastShares || k.Variance <= 0 {
			if k.Count > 0 {
				e.leave(RecheckCounts, TooFew)
			}
			continue
		}
		f := Finding{Reason: RecheckCounts, Reporter: r.id, Checks: k.Count, Found: k.Found, Expected: k.Expected, Statistic: k.Off()}
		z, all = append(z, f.Statistic), append(all, f)
	}
	wider := 1.0
	if len(z) >= leastAgents {
		wider = math.Sqrt(figure.Overspread(z))
	}
	for i := range all {
		all[i].Statistic /= wider
		all[i].Chance = figure.NormalTwice(all[i].Statistic)
	}
	return all
}

// leastAgents is how many agents it takes to know how much agents differ among
// themselves.
const leastAgents = 5

// stratum is where and when lots are alike: one table, one district, four weeks.
type stratum struct{ table, place, month uint32 }

// neighbourhood is the grades of a stratum, and share one reporter's part.
type neighbourhood struct{ n, sum, squares int64 }

type share struct{ n, sum int64 }

func (e *evidence) neighbour(c *chunk, i int, r *reports) {
	verdict := &e.v.shelf.verdicts[c.verdict[i]]
	s := &e.v.shelf.standings[verdict.standing]
	key := stratum{verdict.table, e.district(c.place[i]), uint32(weekOf(c.day[i])) / 4}
	rank := int64(min(s.rank, s.of+1))
	if e.strata[key] == nil {
		e.strata[key] = &neighbourhood{}
	}
	n := e.strata[key]
	n.n, n.sum, n.squares = n.n+1, n.sum+rank, n.squares+rank*rank
	if r.in[key] == nil {
		r.in[key] = &share{}
	}
	r.in[key].n, r.in[key].sum = r.in[key].n+1, r.in[key].sum+rank
}

// district is the first place of a place's district.
func (e *evidence) district(at uint32) uint32 {
	if e.places == nil {
		first := map[string]uint32{}
		for i, p := range e.v.shelf.places {
			if _, ok := first[p.district]; !ok {
				first[p.district] = uint32(i)
			}
			e.places = append(e.places, first[p.district])
		}
	}
	return e.places[at]
}

// neighbours tests whether a reporter's lots grade as those of others in the same
// district and four weeks: their ranks as a draw from all ranks there, stratum by
// stratum. Agents differ for reasons that are nobody's fault. So the scatter among them
// is taken off (Overspread), and the test is Student's t with one less than their
// number. It needs five agents to know that scatter.
func (e *evidence) neighbours() (all []Finding) {
	var z []float64
	for _, r := range e.reporters {
		n, off, variance := int64(0), 0.0, 0.0
		for _, key := range sortedStrata(r.in) {
			mine, here := r.in[key], e.strata[key]
			if here.n <= mine.n {
				continue
			}
			mean := float64(here.sum) / float64(here.n)
			spread := float64(here.squares)/float64(here.n) - mean*mean
			n += mine.n
			off += float64(mine.sum) - float64(mine.n)*mean
			variance += float64(mine.n) * float64(here.n-mine.n) / float64(here.n-1) * spread
		}
		if n < leastFreedom || variance <= 0 {
			e.leave(NeighbourGrades, TooFew)
			continue
		}
		f := Finding{Reason: NeighbourGrades, Reporter: r.id, Checks: int(n), Found: off / float64(n), Statistic: off / math.Sqrt(variance)}
		z, all = append(z, f.Statistic), append(all, f)
	}
	if len(all) < leastAgents {
		for range all {
			e.leave(NeighbourGrades, TooFewPeople)
		}
		return nil
	}
	wider := math.Sqrt(figure.Overspread(z))
	for i := range all {
		all[i].Statistic /= wider
		all[i].Freedom = float64(len(all) - 1)
		all[i].Chance = figure.StudentTwice(all[i].Statistic, all[i].Freedom)
	}
	return all
}

// sortedStrata lists the keys in one order, so that sums are always the same.
func sortedStrata(in map[stratum]*share) []stratum {
	return slices.SortedFunc(maps.Keys(in), func(a, b stratum) int {
		return cmp.Or(cmp.Compare(a.table, b.table), cmp.Compare(a.place, b.place), cmp.Compare(a.month, b.month))
	})
}

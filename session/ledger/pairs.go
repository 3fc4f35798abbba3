package ledger

import (
	"cmp"
	"math"
	"slices"

	"threshline/advice"
	"threshline/grading"
)

// findPairs finds, for each kind of remedy, the one that adds most to the best.
func (r *reckoning) findPairs() {
	total := r.total()
	for kind, when := range [2]advice.When{advice.ThisLot, advice.NextSeason} {
		order := r.order(&total, when)
		if len(order) == 0 || r.gain(&total.done[order[0]], order[:1]) <= 0 {
			continue
		}
		best := order[0]
		var seconds []int
		for _, n := range order[1:] {
			if !r.clash(best, n) && total.done[n].done > 0 {
				seconds = append(seconds, n)
			}
		}
		most, found := r.standing(&total, &total.done[best], order[:1]), -1
		parts := r.countPairs(best, seconds)
		sum := r.sum(parts)
		for i, n := range seconds {
			if s := r.standing(&total, &sum.done[i], []int{best, n}); s > most+grading.Rounding {
				most, found = s, i
			}
		}
		if found < 0 {
			continue
		}
		r.season[kind] = twosome{best, seconds[found]}
		for i := range parts {
			r.parts[i].done[len(r.tried)+kind] = parts[i].done[found]
		}
	}
}

// clash reports whether two remedies do the same work: both dry, or both take out
// stones of a grain's size.
func (r *reckoning) clash(a, b int) bool {
	if r.effectOf[a] == r.effectOf[b] {
		return true
	}
	return picks(r.tried[a]) && picks(r.tried[b])
}

func picks(r *advice.Remedy) bool {
	return r.ID != advice.Sieve && slices.ContainsFunc(r.Effects, func(e advice.Effect) bool { return e.Field == grading.Stones })
}

// countPairs counts a first remedy with each of some seconds, each of the two wherever
// it may be done.
func (r *reckoning) countPairs(first int, seconds []int) []part {
	states := spread(r.v, func() *reckoner { return r.newReckoner(len(seconds)) }, func(k *reckoner, c *chunk, space []uint16) {
		rows := r.m.rows(c, space)
		if len(rows) == 0 || len(seconds) == 0 {
			return
		}
		before, band, after := k.single(c)
		var effects []int
		for _, n := range seconds {
			effects = append(effects, r.effectOf[n])
		}
		both := k.regrader.pairs(c, r.effectOf[first], effects)
		for n, second := range seconds {
			k.pair(c, rows, n, twosome{first, second}, before, band, after, &both[n])
		}
	})
	for _, s := range states[1:] {
		for i := range s.parts {
			states[0].parts[i].add(&s.parts[i])
		}
	}
	return states[0].parts
}

// pair counts one pair over the rows of a chunk.
func (k *reckoner) pair(c *chunk, rows []uint16, n int, pair twosome, before, band []uint8, after []treated, both *treated) {
	x, y := &after[k.r.effectOf[pair.first]], &after[k.r.effectOf[pair.second]]
	first, second := k.largest(pair.first), k.largest(pair.second)
	for _, i := range rows {
		kg := c.kg[i].Float()
		one := x.rank[i] != 0 && (first == 0 || kg <= first)
		two := y.rank[i] != 0 && (second == 0 || kg <= second)
		from := both
		switch {
		case before[i] == 0 || !one && !two:
			continue
		case !one:
			from = y
		case !two:
			from = x
		}
		if from.rank[i] == 0 {
			continue
		}
		d := k.change(c, int(i), n, before[i], from.rank[i], band[i], from.bandOf(i), from.kept(i))
		if one {
			d.did(0, c.kg[i], from.rank[i] < before[i])
		}
		if two {
			d.did(1, c.kg[i], from.rank[i] < before[i])
		}
	}
}

// total is all districts together.
func (r *reckoning) total() part { return r.sum(r.parts) }

func (r *reckoning) sum(parts []part) part {
	n := len(r.tried) + 2
	if len(parts) > 0 {
		n = len(parts[0].done)
	}
	sum := part{slots: make([]int, r.slots), done: make([]change, n)}
	for i := range sum.done {
		sum.done[i].slots = make([]int, r.slots)
	}
	for i := range parts {
		sum.add(&parts[i])
	}
	return sum
}

// cost is the work and the fees of one change's remedies.
func (r *reckoning) cost(done *[2]load, remedies []int) (hours, money float64, unknown bool) {
	settings := &r.v.settings.Advice
	for i, n := range remedies {
		h, fee, known := settings.Costs(r.tried[n], int(done[i].lots), grading.Decimal(done[i].kg), "")
		hours, money, unknown = hours+h, money+settings.Wages(h)+fee, unknown || !known
	}
	return hours, money, unknown
}

// inMoney reports whether remedies are compared by money.
func (r *reckoning) inMoney() bool {
	for i := range r.parts {
		if r.parts[i].priced > 0 {
			return true
		}
	}
	return false
}

// gain is what a change is worth: money less its cost where it lifts the grade, since
// nobody works on a lot for nothing; without prices, grade steps.
func (r *reckoning) gain(d *change, remedies []int) float64 {
	if !r.inMoney() {
		return float64(d.steps)
	}
	_, cost, _ := r.cost(&d.liftedLoad, remedies)
	return grading.Decimal(d.liftedMoney).Float() - cost
}

// standing is the figure by which changes are compared: the gain. If a fee is unknown,
// the least gain that is worth work is subtracted, since the gain is then before the
// fee.
func (r *reckoning) standing(of *part, d *change, remedies []int) float64 {
	gain := r.gain(d, remedies)
	if _, _, unknown := r.cost(&d.load, remedies); unknown {
		steps, share, _ := r.v.settings.Advice.Worth()
		if r.inMoney() {
			return gain - share*grading.Decimal(of.money).Float()
		}
		return gain - steps*float64(of.lots)
	}
	return gain
}

// order lists the tried remedies of a kind, the best for a part first. A machine
// without a known fee comes after what does the same work at a known cost, as in the
// advice for one lot: the fee may make it worse.
func (r *reckoning) order(of *part, when advice.When) []int {
	type weighed struct {
		n              int
		standing, cost float64
		unknown        bool
	}
	var list []weighed
	for n, rem := range r.tried {
		if rem.When == when {
			_, cost, unknown := r.cost(&of.done[n].liftedLoad, []int{n})
			list = append(list, weighed{n, r.standing(of, &of.done[n], []int{n}), cost, unknown})
		}
	}
	for i := range list {
		for _, known := range list {
			if list[i].unknown && !known.unknown && r.effectOf[list[i].n] == r.effectOf[known.n] {
				list[i].standing = min(list[i].standing, known.standing)
			}
		}
	}
	slices.SortStableFunc(list, func(a, b weighed) int {
		if d := b.standing - a.standing; math.Abs(d) > grading.Rounding {
			return cmp.Compare(d, 0)
		}
		if a.unknown != b.unknown {
			if a.unknown {
				return 1
			}
			return -1
		}
		return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(r.tried[a.n].DueDays, r.tried[b.n].DueDays))
	})
	order := make([]int, len(list))
	for i := range list {
		order[i] = list[i].n
	}
	return order
}

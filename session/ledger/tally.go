package ledger

import (
	"sync"
	"sync/atomic"

	"threshline/grading"
)

// tally is the counting of one summary, or one worker's part of it. It consists of sums
// of whole numbers, so that parts add up in any order.
type tally struct {
	shelf *shelf
	all   []*chunk

	checks, corrected, withdrawn, lots, weighed int
	firstDay, lastDay                           uint16

	verdicts []verdictCount // by verdict
	since    uint16         // the first week of the whole view
	weeks    grid           // by week from since
	places, agents,
	varieties, channels grid
	values [][]uint32 // by parameter, then cell
	others []wideValue
	pairs  pairs
}

// verdictCount counts the checks of one verdict, and the lots of which they are the
// newest: every field but checks counts those.
type verdictCount struct{ checks, lots, borderline, kg, confidence int64 }

// wideValue is a value that fits no cell.
type wideValue struct {
	parameter uint32
	value     grading.Decimal
}

// grid counts by group. Each group has a stretch of numbers: first those named below,
// then lots by standing, then by deciding parameter.
type grid struct {
	width int
	cells []int64
}

const (
	cellChecks = iota
	cellKG
	cellBorderline
	cellIncomplete
	cellStanding
)

func (g *grid) at(n uint32) []int64 {
	end := (int(n) + 1) * g.width
	for len(g.cells) < end {
		g.cells = append(g.cells, make([]int64, max(end-len(g.cells), len(g.cells)))...)
	}
	return g.cells[end-g.width : end]
}

// groups is how many groups the grid has room for.
func (g *grid) groups() int { return len(g.cells) / g.width }

func (g *grid) add(o *grid) {
	if o.groups() > 0 {
		g.at(uint32(o.groups() - 1))
	}
	for i, n := range o.cells {
		g.cells[i] += n
	}
}

func newTally(v *View) *tally {
	s := &v.shelf
	t := &tally{shelf: s, all: v.chunks, firstDay: 1<<16 - 1, since: 1<<16 - 1}
	for _, c := range v.chunks {
		t.since = min(t.since, weekOf(c.firstDay))
	}
	t.verdicts = make([]verdictCount, len(s.verdicts))
	t.values = make([][]uint32, len(s.parameters))
	width := cellStanding + len(s.standings) + len(s.parameters)
	for _, g := range t.grids() {
		g.width = width
	}
	t.pairs = pairs{moves: map[[2]uint32]int{}, parameters: make([]pairValues, len(s.parameters))}
	return t
}

func (t *tally) grids() []*grid {
	return []*grid{&t.weeks, &t.places, &t.agents, &t.varieties, &t.channels}
}

// tally counts what f chooses, chunk by chunk, by several workers at once.
func (v *View) tally(f *Filter, count func(*tally, *matcher, *chunk, []uint16)) *tally {
	m := v.match(f)
	parts := spread(v, func() *tally { return newTally(v) }, func(t *tally, c *chunk, space []uint16) { count(t, &m, c, space) })
	whole := parts[0]
	for _, part := range parts[1:] {
		whole.add(part)
	}
	return whole
}

// spread lets workers take the chunks of a view, each with its own state. It returns
// the states, at least one.
func spread[T any](v *View, begin func() T, do func(T, *chunk, []uint16)) []T {
	workers := max(1, min(v.settings.Workers, len(v.chunks)/4))
	states := make([]T, workers)
	most := 0
	for _, c := range v.chunks {
		most = max(most, c.n)
	}
	var next atomic.Int64
	var all sync.WaitGroup
	for i := range states {
		all.Go(func() {
			states[i] = begin()
			space := make([]uint16, 0, most)
			for n := int(next.Add(1)) - 1; n < len(v.chunks) && (v.stop == nil || !v.stop()); n = int(next.Add(1)) - 1 {
				do(states[i], v.chunks[n], space)
			}
		})
	}
	all.Wait()
	return states
}

// place counts the rows of one chunk by place alone.
func (t *tally) place(m *matcher, c *chunk, space []uint16) {
	t.group(&t.places, c.place, m, c, m.rows(c, space))
}

// chunk counts the rows of one chunk.
func (t *tally) chunk(m *matcher, c *chunk, space []uint16) {
	rows := keep(m.choose(c, space), func(i uint16) bool {
		mark, kind := c.marks[i], m.ofKind(c, i)
		if kind && mark&markCorrected != 0 {
			t.corrected++
		} else if kind && mark&markWithdrawn != 0 {
			t.withdrawn++
		}
		if !m.inState(c, i) {
			return false
		}
		if before := c.before[i]; before != 0 && mark&markPooled == 0 && marksAt(t.all, before-1)&markHand == 0 {
			t.pairs.count(t, c, int(i), before-1)
		}
		return kind
	})
	t.totals(m, c, rows)
	t.group(&t.places, c.place, m, c, rows)
	t.group(&t.agents, c.agent, m, c, rows)
	t.group(&t.varieties, c.variety, m, c, rows)
	t.group(&t.channels, c.channel, m, c, rows)
	rows = keep(rows, func(i uint16) bool { return m.ofLot(c, i) })
	for p := range c.values {
		t.column(uint32(p), c, rows)
	}
}

func (t *tally) totals(m *matcher, c *chunk, rows []uint16) {
	t.checks += len(rows)
	for _, i := range rows {
		mark := c.marks[i]
		t.firstDay, t.lastDay = min(t.firstDay, c.day[i]), max(t.lastDay, c.day[i])
		t.count(t.weeks.at(uint32(weekOf(c.day[i])-t.since)), m, c, i)
		n := &t.verdicts[c.verdict[i]]
		n.checks++
		if !m.ofLot(c, i) {
			continue
		}
		t.lots++
		t.weighed += int(mark / markWeighed & 1)
		n.lots++
		n.borderline += int64(mark / markBorderline & 1)
		n.kg += int64(c.kg[i])
		n.confidence += int64(c.confidence[i])
	}
}

// weekOf numbers the weeks from Monday to Sunday: 1 January 1970 was a Thursday.
func weekOf(day uint16) uint16 { return uint16((uint32(day) + 3) / 7) }

func (t *tally) group(g *grid, key []uint32, m *matcher, c *chunk, rows []uint16) {
	for _, i := range rows {
		t.count(g.at(key[i]), m, c, i)
	}
}

// count adds row i to a group's cells.
func (t *tally) count(cells []int64, m *matcher, c *chunk, i uint16) {
	cells[cellChecks]++
	if !m.ofLot(c, i) {
		return
	}
	v := &t.shelf.verdicts[c.verdict[i]]
	cells[cellKG] += int64(c.kg[i])
	cells[cellBorderline] += int64(c.marks[i] / markBorderline & 1)
	if !v.complete {
		cells[cellIncomplete]++
	}
	cells[cellStanding+v.standing]++
	for _, p := range v.decides {
		cells[cellStanding+len(t.shelf.standings)+int(p)]++
	}
}

// column counts a parameter's values.
func (t *tally) column(p uint32, c *chunk, rows []uint16) {
	column := c.values[p]
	for _, i := range rows {
		if int(i) >= len(column) {
			break
		}
		cell := column[i]
		switch {
		case cell == 0:
			continue
		case cell == wide:
			t.others = append(t.others, wideValue{p, c.others[wideKey{p, uint32(i)}]})
			continue
		case int(cell) >= len(t.values[p]):
			t.values[p] = append(t.values[p], make([]uint32, int(cell)+1-len(t.values[p])+int(cell)/2)...)
		}
		t.values[p][cell]++
	}
}

// add adds a worker's part.
func (t *tally) add(o *tally) {
	t.checks, t.corrected, t.withdrawn = t.checks+o.checks, t.corrected+o.corrected, t.withdrawn+o.withdrawn
	t.lots, t.weighed = t.lots+o.lots, t.weighed+o.weighed
	t.firstDay, t.lastDay = min(t.firstDay, o.firstDay), max(t.lastDay, o.lastDay)
	for i := range o.verdicts {
		a, b := &t.verdicts[i], &o.verdicts[i]
		a.checks, a.lots, a.borderline, a.kg, a.confidence = a.checks+b.checks, a.lots+b.lots, a.borderline+b.borderline, a.kg+b.kg, a.confidence+b.confidence
	}
	others := o.grids()
	for i, g := range t.grids() {
		g.add(others[i])
	}
	for p, counts := range o.values {
		if short := len(counts) - len(t.values[p]); short > 0 {
			t.values[p] = append(t.values[p], make([]uint32, short)...)
		}
		for cell, n := range counts {
			t.values[p][cell] += n
		}
	}
	t.others = append(t.others, o.others...)
	t.pairs.add(&o.pairs)
}

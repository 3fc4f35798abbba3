package ledger

import (
	"math"

	"threshline/advice"
	"threshline/grading"
)

// reckoning is one what-if under way.
type reckoning struct {
	v        *View
	m        matcher
	tried    []*advice.Remedy
	effectOf []int
	effects  []effect
	market   []tableMarket // by table
	slots    int           // of all tables together
	district []uint32      // by place
	names    names[string] // of districts
	parts    []part        // by district
	season   [2]twosome    // this lot, next season
}

// tableMarket is a table's grades and what they fetch.
type tableMarket struct {
	first  int // slot of rank 1
	labels []grading.GradeLabel
	of     int
	prices []float64 // by rank from 1, per kg; nil unknown
	outs   bool      // out of grade has a price of its own
}

// twosome is a pair of tried remedies; -1 none.
type twosome struct{ first, second int }

// part is what is counted in one district.
type part struct {
	lots, refused, priced int
	kg, money             int64
	slots                 []int
	done                  []change // by tried remedy, then the two pairs
}

// change is what a remedy changes, as differences.
type change struct {
	done, lifted, lowered, steps int
	kg, money                    int64
	liftedKG, liftedMoney        int64
	load, liftedLoad             [2]load // of the remedy, and of a pair's second
	slots                        []int
}

// load is the lots of known weight on which a remedy is done.
type load struct {
	lots int
	kg   int64
}

func (l *load) add(kg grading.Decimal) {
	if kg > 0 {
		l.lots, l.kg = l.lots+1, l.kg+int64(kg)
	}
}

func (l *load) join(o *load) { l.lots, l.kg = l.lots+o.lots, l.kg+o.kg }

func (v *View) newReckoning(f *Filter) *reckoning {
	r := &reckoning{v: v, m: v.match(f), season: [2]twosome{{-1, -1}, {-1, -1}}}
	r.tried, r.effectOf, r.effects = remedies()
	for _, s := range v.shelf.standards {
		m := marketOf(s, &v.settings.Advice)
		m.first = r.slots
		r.slots += len(m.labels)
		r.market = append(r.market, m)
	}
	for _, p := range v.shelf.places {
		r.district = append(r.district, r.names.id(p.district))
	}
	return r
}

func marketOf(s *grading.Standard, settings *advice.Settings) (m tableMarket) {
	if s == nil {
		return m
	}
	m.of = len(s.Grades)
	for rank := 1; s.Label(rank) != ""; rank++ {
		m.labels = append(m.labels, s.Label(rank))
	}
	for _, g := range s.Grades {
		price, ok := settings.Prices[g.Label]
		if !ok {
			m.prices = nil
			return m
		}
		m.prices = append(m.prices, price.Float())
	}
	if len(m.prices) > 0 {
		out := m.prices[len(m.prices)-1]
		if m.outs = settings.OutPrice > 0; m.outs {
			out = settings.OutPrice.Float()
		}
		for len(m.prices) < len(m.labels) {
			m.prices = append(m.prices, out)
		}
	}
	return m
}

// priced reports whether a lot of that rank can be counted in money. An unknown price
// out of grade is taken as the last grade's, so that no money is ever claimed for
// coming back into grade; a lot that is out of grade now is then left out.
func (m *tableMarket) priced(rank uint8) bool {
	return len(m.prices) > 0 && (m.outs || int(rank) <= m.of)
}

// money is what kg fetches at a rank and a band of deductions.
func (r *reckoning) money(m *tableMarket, rank, band uint8, kg float64) int64 {
	price := m.prices[min(int(rank), len(m.prices))-1]
	bands := r.v.settings.Advice.Deductions
	switch n := int(band); {
	case n > len(bands): // the buyer does not take it: it sells out of grade
		price = m.prices[len(m.prices)-1]
	case n > 0:
		cut, _ := advice.Deduct(grading.One, bands[n-1].UpTo, bands)
		price *= cut.Float()
	}
	return int64(math.Round(kg * price * float64(grading.One)))
}

// reckoner is one worker's part.
type reckoner struct {
	*regrader
	r     *reckoning
	parts []part
}

// newReckoner prepares a worker that counts so many things done.
func (r *reckoning) newReckoner(done int) *reckoner {
	k := &reckoner{regrader: r.v.newRegrader(r.effects), r: r, parts: make([]part, len(r.names.list))}
	for i := range k.parts {
		k.parts[i] = part{slots: make([]int, r.slots), done: make([]change, done)}
		for j := range k.parts[i].done {
			k.parts[i].done[j].slots = make([]int, r.slots)
		}
	}
	return k
}

// count counts all remedies alone, then finds the best two of each kind.
func (r *reckoning) count() {
	states := spread(r.v, func() *reckoner { return r.newReckoner(len(r.tried) + 2) }, func(k *reckoner, c *chunk, space []uint16) { k.singles(c, r.m.rows(c, space)) })
	r.parts = states[0].parts
	for _, s := range states[1:] {
		for i := range s.parts {
			r.parts[i].add(&s.parts[i])
		}
	}
	r.findPairs()
}

func (k *reckoner) singles(c *chunk, rows []uint16) {
	if len(rows) == 0 {
		return
	}
	before, band, after := k.single(c)
	for _, i := range rows {
		p := &k.parts[k.r.district[c.place[i]]]
		rank := before[i]
		if rank == 0 {
			p.refused++
			continue
		}
		m := &k.r.market[k.v.shelf.verdicts[c.verdict[i]].table]
		p.lots++
		p.kg += int64(c.kg[i])
		p.slots[m.first+min(int(rank), len(m.labels))-1]++
		if c.kg[i] > 0 && m.priced(rank) {
			p.priced++
			p.money += k.r.money(m, rank, band[i], c.kg[i].Float())
		}
	}
	for n := range k.r.tried {
		k.changes(c, rows, n, k.largest(n), before, band, &after[k.r.effectOf[n]])
	}
}

// largest is the largest lot that the n-th remedy is sensible for, kg; 0 any.
func (k *reckoner) largest(n int) float64 {
	return k.r.v.settings.Advice.Largest(k.r.tried[n])
}

// changes counts what one remedy changes, or two.
func (k *reckoner) changes(c *chunk, rows []uint16, n int, largest float64, before, band []uint8, after *treated) {
	for _, i := range rows {
		is := after.rank[i]
		kg := c.kg[i].Float()
		if before[i] == 0 || is == 0 || largest > 0 && kg > largest {
			continue
		}
		k.change(c, int(i), n, before[i], is, band[i], after.bandOf(i), after.kept(i)).did(0, c.kg[i], is < before[i])
	}
}

// change counts one lot and returns what it was added to.
func (k *reckoner) change(c *chunk, i, n int, was, is, bandWas, bandIs uint8, factor float64) *change {
	p := &k.parts[k.r.district[c.place[i]]]
	d := &p.done[n]
	d.done++
	if is == was && bandIs == bandWas && factor == 1 {
		return d // as most are: nothing else to count
	}
	m := &k.r.market[k.v.shelf.verdicts[c.verdict[i]].table]
	d.slots[m.first+min(int(was), len(m.labels))-1]--
	d.slots[m.first+min(int(is), len(m.labels))-1]++
	d.steps += min(int(was), m.of+1) - min(int(is), m.of+1)
	kg := c.kg[i].Float()
	lost, gained := int64(0), int64(0)
	if c.kg[i] > 0 {
		lost = int64(math.Round(float64(c.kg[i]) * (1 - factor)))
		if m.priced(was) {
			gained = k.r.money(m, is, bandIs, kg*factor) - k.r.money(m, was, bandWas, kg)
		}
	}
	d.kg, d.money = d.kg+lost, d.money+gained
	switch {
	case is < was:
		d.lifted++
		d.liftedKG, d.liftedMoney = d.liftedKG+lost, d.liftedMoney+gained
	case is > was:
		d.lowered++
	}
	return d
}

// did notes that a remedy, or a pair's second, was done to a lot.
func (d *change) did(which int, kg grading.Decimal, lifted bool) {
	d.load[which].add(kg)
	if lifted {
		d.liftedLoad[which].add(kg)
	}
}

func (p *part) add(o *part) {
	p.lots, p.refused, p.priced, p.kg, p.money = p.lots+o.lots, p.refused+o.refused, p.priced+o.priced, p.kg+o.kg, p.money+o.money
	addTo(p.slots, o.slots)
	for i := range p.done {
		p.done[i].add(&o.done[i])
	}
}

func (d *change) add(o *change) {
	d.done, d.lifted, d.lowered, d.steps = d.done+o.done, d.lifted+o.lifted, d.lowered+o.lowered, d.steps+o.steps
	d.kg, d.money = d.kg+o.kg, d.money+o.money
	d.liftedKG, d.liftedMoney = d.liftedKG+o.liftedKG, d.liftedMoney+o.liftedMoney
	for i := range d.load {
		d.load[i].join(&o.load[i])
		d.liftedLoad[i].join(&o.liftedLoad[i])
	}
	addTo(d.slots, o.slots)
}

func addTo(a, b []int) {
	for i, n := range b {
		a[i] += n
	}
}

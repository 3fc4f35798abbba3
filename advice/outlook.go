package advice

import g "threshline/grading"

// outlook is what a lot may turn out to be: upTo[i] is the chance that it is of
// grade i+1 or better. What is left over is out of grade.
type outlook struct {
	upTo  []float64
	rank  int
	label g.GradeLabel
}

// atLeast is the chance of a grade or a better one; 1 for out of grade.
func (o *outlook) atLeast(rank int) float64 {
	if rank < 1 || rank > len(o.upTo) {
		return 1
	}
	return o.upTo[rank-1]
}

// meanRank is the expected rank; out of grade counts as one after the last.
func (o *outlook) meanRank() float64 {
	mean := float64(len(o.upTo) + 1)
	for _, c := range o.upTo {
		mean -= c
	}
	return mean
}

// market is what the programme's prices make of an outlook.
type market struct {
	prices []float64 // by rank, best first; the last is out of grade
	kg     float64
	bands  []Deduction
	// known is false when some price or the lot's weight is missing: then only
	// grade steps are counted.
	known bool
}

// marketOf reads the prices. They are complete when every grade has one, and
// the lot's weight is known. An unknown price out of grade is taken as the last
// grade's, so that no money is ever claimed for coming back into grade; a lot
// that is out of grade now is then weighed by grade steps.
func marketOf(c *Case, rank int) market {
	m := market{kg: c.KG.Float(), bands: c.Settings.Deductions, known: c.KG > 0 && len(c.Settings.Prices) > 0}
	if !m.known {
		return m
	}
	for i := range c.Standard.Grades {
		price, ok := c.Settings.Prices[c.Standard.Grades[i].Label]
		m.known = m.known && ok
		m.prices = append(m.prices, price.Float())
	}
	out := c.Settings.OutPrice.Float()
	if c.Settings.OutPrice <= 0 && len(m.prices) > 0 {
		out = m.prices[len(m.prices)-1]
		m.known = m.known && rank <= len(m.prices)
	}
	m.prices = append(m.prices, out)
	return m
}

// money is what factor times the lot's weight is expected to fetch at a moisture.
func (m *market) money(o *outlook, factor float64, moisture g.Decimal) float64 {
	sum, under := 0.0, 0.0
	last := len(m.prices) - 1
	for i := range m.prices[:last] {
		sum += (o.upTo[i] - under) * m.prices[i]
		under = o.upTo[i]
	}
	sum += (1 - under) * m.prices[last]
	cut := g.One
	if len(m.bands) > 0 {
		paid, accepted := Deduct(g.One, moisture, m.bands)
		if cut = paid; !accepted { // the buyer does not take it: it sells out of grade
			sum, cut = m.prices[last], g.One
		}
	}
	return sum * cut.Float() * m.kg * factor
}

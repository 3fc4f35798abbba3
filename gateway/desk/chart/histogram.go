package chart

import (
	"math"
	"strconv"

	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session/ledger/figure"
)

// Measures of a histogram.
const (
	histLeft   = 44.0
	histRight  = 12.0
	histTop    = 36.0
	histFoot   = 138.0
	histHeight = 172.0
	mostBins   = 24
	thinnest   = 2.0 // of a bar, so that it is seen
)

// Histogram draws how a parameter's values lie, with a line at each limit.
func Histogram(id, label, unit string, p *figure.Distribution) Drawing {
	c := Drawing{
		ID: id, Title: label + ": values against limits", Width: width, Height: histHeight,
		Desc: "Bars: how many lots have a value in each range. Broken lines: the limits of the grades, each named above its line. A value right on a line is in the bar on that side of it where the limit is met.",
	}
	c.Table = paper.Table{Caption: label + ", " + unit, Head: paper.Heads("From", "To", "#Lots")}
	bins := p.Bins(mostBins)
	if len(bins) == 0 {
		return c
	}
	low, high, most := bins[0].From, bins[len(bins)-1].To, 0
	for _, b := range bins {
		most = max(most, b.Lots)
		c.Table.Add(b.First.Fixed(p.Decimals), b.Last.Fixed(p.Decimals), paper.Count(b.Lots))
	}
	low, high = reach(low, high, p.Limits, len(bins) == 1)
	across := func(d grading.Decimal) float64 {
		return histLeft + float64(d-low)/float64(max(high-low, 1))*(width-histLeft-histRight)
	}
	steps := ticks(float64(max(most, 3)), 3)
	up := func(n float64) float64 { return histFoot - n/steps[len(steps)-1]*(histFoot-histTop) }
	for _, s := range steps {
		c.line("grid", histLeft, up(s), width-histRight, up(s))
		c.text("tick", "end", histLeft-4, up(s)+3, tickText(s))
	}
	for _, b := range bins {
		c.rect("bar", across(b.From)+0.4, up(float64(b.Lots)), max(across(b.To)-across(b.From)-0.8, thinnest), histFoot-up(float64(b.Lots)))
	}
	c.line("axis", histLeft, histFoot, width-histRight, histFoot)
	for _, d := range marks(low, high) {
		c.text("tick", "middle", across(d), histFoot+12, strconv.FormatFloat(d.Float(), 'g', 5, 64))
	}
	c.text("tick", "middle", (histLeft+width-histRight)/2, histFoot+27, unit)
	c.text("tick", "start", 2, 10, "lots")
	c.limits(p, across)
	return c
}

// marks are about five round values between two.
func marks(low, high grading.Decimal) (list []grading.Decimal) {
	steps := ticks((high - low).Float(), 5)
	step := grading.Decimal(math.Round((steps[1] - steps[0]) * float64(grading.One)))
	if step < 1 {
		return []grading.Decimal{low}
	}
	for d := (low + step - 1) / step * step; d <= high; d += step {
		list = append(list, d)
	}
	return list
}

// reach widens the axis to the limits near the values. A limit far away would squeeze
// the bars and is only in the table. A bar that stands alone can only be compared with
// the limits, and so all of them are drawn.
func reach(low, high grading.Decimal, limits []figure.Limit, alone bool) (grading.Decimal, grading.Decimal) {
	span := high - low
	from, to := low, high
	for _, l := range limits {
		for _, b := range []*grading.Decimal{l.Bound.Min, l.Bound.Max} {
			if b != nil && (alone || *b >= low-span && *b <= high+span) {
				from, to = min(from, *b), max(to, *b+span/50)
			}
		}
	}
	if alone && to > high { // room for the label of the last limit
		to += (to - from) / 20
	}
	return from, to
}

// limits draws the limits as broken lines, labels in turn on three heights so
// that neighbours do not cover each other.
func (c *Drawing) limits(p *figure.Distribution, across func(grading.Decimal) float64) {
	drawn := map[grading.Decimal]string{}
	var order []grading.Decimal
	for _, l := range p.Limits {
		for _, b := range []*grading.Decimal{l.Bound.Min, l.Bound.Max} {
			if b == nil {
				continue
			}
			if _, ok := drawn[*b]; !ok {
				order = append(order, *b)
				drawn[*b] = string(l.Grade)
			} else {
				drawn[*b] += ", " + string(l.Grade)
			}
		}
	}
	for i, b := range order {
		x := across(b)
		if x < histLeft-1 || x > width-histRight+1 {
			continue
		}
		y := 10 + 9*float64(i%3)
		c.line("limit", x, y+3, x, histFoot)
		anchor := "middle"
		if x > width-60 {
			anchor = "end"
		} else if x < 70 {
			anchor = "start"
		}
		c.text("limit-label", anchor, x, y, drawn[b])
	}
}

package chart

import (
	"strconv"
	"time"

	"threshline/gateway/desk/paper"
	"threshline/session/ledger"
)

// Measures of the chart of weeks: shares above, numbers of checks below.
const (
	weekLeft   = 44.0
	weekRight  = 10.0
	shareTop   = 22.0
	shareFoot  = 140.0
	countTop   = 166.0
	countFoot  = 221.0
	weekHeight = 256.0
	// mostWeeks is how many weeks fit: longer seasons show the last ones.
	mostWeeks = 60
)

// Weeks draws the share in grade week by week with its interval, and how
// many checks each week had.
func Weeks(weeks []ledger.Group) Drawing {
	desc := "Above: one point for each week, for the lots whose newest check is of that week. The line through it shows where the share lies with 95% certainty. Below: how many checks the week had. A week without checks has neither."
	if len(weeks) > mostWeeks {
		weeks = weeks[len(weeks)-mostWeeks:]
		desc += " Only the last " + strconv.Itoa(mostWeeks) + " weeks are drawn."
	}
	c := Drawing{ID: "weeks", Title: "In grade, week by week", Desc: desc, Width: width, Height: weekHeight}
	c.Table = paper.Table{
		Caption: "Weeks, each named by its Monday",
		Head:    paper.Heads("Week from", "#Checks", "#Lots", "#In grade", "#Share", "#95% interval", "#Weight"),
	}
	up := func(f float64) float64 { return shareFoot - f*(shareFoot-shareTop) }
	for tick := 0; tick <= 100; tick += 25 {
		y := up(float64(tick) / 100)
		c.line("grid", weekLeft, y, width-weekRight, y)
		c.text("tick", "end", weekLeft-4, y+3, strconv.Itoa(tick))
	}
	c.text("tick", "start", 2, shareTop-11, "% in grade")
	most := 0
	for i := range weeks {
		most = max(most, weeks[i].Checks)
	}
	steps := ticks(float64(max(most, 3)), 3)
	top := steps[len(steps)-1]
	down := func(n float64) float64 { return countFoot - n/top*(countFoot-countTop) }
	for _, s := range steps {
		c.line("grid", weekLeft, down(s), width-weekRight, down(s))
		c.text("tick", "end", weekLeft-4, down(s)+3, tickText(s))
	}
	c.text("tick", "start", 2, countTop-9, "checks")
	slot := (width - weekLeft - weekRight) / float64(max(len(weeks), 1))
	every := max(1, (len(weeks)+4)/5)
	for i := range weeks {
		g := &weeks[i]
		x := weekLeft + (float64(i)+0.5)*slot
		if g.Checks > 0 {
			c.rect("bar many", x-slot*0.35, down(float64(g.Checks)), slot*0.7, countFoot-down(float64(g.Checks)))
		}
		if g.Lots > 0 {
			low, high := g.InGrade.Interval()
			c.upright(x, up(low), up(high))
			c.dot("point", x, up(g.InGrade.Value()))
		}
		c.Table.Add(paper.Day(g.Key), paper.Count(g.Checks), paper.Count(g.Lots), paper.Count(g.InGrade.Count), paper.Part(g.InGrade, g.Checks), paper.Interval(g.InGrade), paper.Weight(g.KG))
		if i%every == 0 {
			c.text("tick", "middle", x, countFoot+12, shortDay(g.Key))
		}
	}
	c.line("axis", weekLeft, shareFoot, width-weekRight, shareFoot)
	c.line("axis", weekLeft, countFoot, width-weekRight, countFoot)
	c.text("tick", "middle", (weekLeft+width-weekRight)/2, countFoot+27, "week, named by its Monday")
	return c
}

func shortDay(iso string) string {
	t, err := time.Parse(time.DateOnly, iso)
	if err != nil {
		return iso
	}
	return t.Format("2 Jan")
}

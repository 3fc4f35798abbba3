package sheet

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session"
)

// valueRow is one parameter as it was measured, against its limits.
type valueRow struct{ parameter, value, unit, own, limit, next, interval, meets, meetsNext string }

var valueHeads = paper.Heads("Parameter", "#Value", "Unit", "Own grade", "#Limit", "#Next better limit", "#95% interval", "#Chance to meet the limit", "#Chance to meet the next")

func (v *valueRow) cells() []paper.Cell {
	return paper.Cells(v.parameter, v.value, v.unit, v.own, v.limit, v.next, v.interval, v.meets, v.meetsNext)
}

// Values is the table of parameters with limits and certainty.
func Values(s *grading.Standard, res *grading.Result) paper.Table {
	t := paper.Table{Caption: "Values against limits. The interval holds the lot’s true value with 95% certainty.", Head: valueHeads}
	for i := range res.Parameters {
		row := valueOf(s, &res.Parameters[i])
		t.Rows = append(t.Rows, row.cells())
	}
	return t
}

func valueOf(s *grading.Standard, p *grading.ParameterResult) valueRow {
	row := valueRow{parameter: string(p.ID), value: "not measured", unit: paper.Unit(p.Unit, p.Basis)}
	if def := s.Parameter(p.ID); def != nil {
		row.parameter = def.Label
	}
	if p.Estimate {
		row.parameter += " (estimate)"
	}
	if !p.Measured {
		return row
	}
	row.own, row.limit, row.next = string(p.Grade), limitText(p.Limit, p), limitText(p.Next, p)
	if p.Unit == grading.Word {
		row.value = p.Word
	} else {
		row.value, row.interval = p.Shown.Fixed(p.Decimals), bounds(p)
	}
	if p.Limit != nil {
		row.meets = paper.Chance(p.Meets)
	}
	if p.Next != nil {
		row.meetsNext = paper.Chance(p.MeetsNext)
	}
	return row
}

func limitText(limit *grading.Decimal, p *grading.ParameterResult) string {
	if limit == nil {
		return "none"
	}
	if p.LimitIsMin {
		return Sign("≥ ", "> ", p.LimitOpen) + limit.AtLeast(p.Decimals)
	}
	return Sign("≤ ", "< ", p.LimitOpen) + limit.AtLeast(p.Decimals)
}

func bounds(p *grading.ParameterResult) string {
	if math.IsInf(p.High, 0) || math.IsNaN(p.Low) || math.IsNaN(p.High) {
		return "not known"
	}
	return strconv.FormatFloat(p.Low, 'f', p.Decimals+1, 64) + " to " + strconv.FormatFloat(p.High, 'f', p.Decimals+1, 64)
}

// Settle says how much more sample would decide a borderline grade.
func Settle(s *grading.Standard, t *grading.Settle) string {
	label := string(t.Parameter)
	if p := s.Parameter(t.Parameter); p != nil {
		label = p.Label
	}
	switch {
	case t.Grains > 0:
		return fmt.Sprintf("To settle %s, count %s grains in all.", label, paper.Count(t.Grains))
	case t.Grams > 0:
		return fmt.Sprintf("To settle %s, sieve and pick %s g in all.", label, t.Grams.Round(0))
	case t.Repeats > 0:
		return fmt.Sprintf("To settle %s, take %s readings in all.", label, paper.Count(t.Repeats))
	case t.CheckMeter:
		return fmt.Sprintf("To settle %s, have the meter checked beside an oven, or beside a checked meter.", label)
	}
	return ""
}

// Readings is the table of what was measured, and when.
func Readings(c *session.Check) paper.Table {
	t := paper.Table{Caption: map[bool]string{false: "What was measured", true: "What was counted"}[c.Readings.ByHand()], Head: paper.Heads("Reading", "#Value")}
	paced := len(c.Paces) > 0
	if paced {
		t.Caption += ", and how long after the dialogue about this lot began"
		t.Head = append(t.Head, paper.Column{Label: "After", Number: true})
	}
	add := func(label, value string, f grading.Field) {
		row := paper.Cells(label, value)
		if s, ok := c.Paces[f]; ok {
			row = append(row, paper.Cell{Text: fmt.Sprintf("%d min %02d s", s/60, s%60)})
		} else if paced {
			row = append(row, paper.Cell{Text: "not known"})
		}
		t.Rows = append(t.Rows, row)
	}
	for i, m := range c.Readings.Repeats {
		add(paper.Say("field", grading.Moisture)+", reading "+strconv.Itoa(i+1), m.String(), grading.Moisture)
	}
	for _, f := range grading.Fields() {
		if value, ok := c.Readings.Get(f); ok && f != grading.Moisture {
			add(paper.Say("field", f), value.String(), f)
		}
	}
	if c.Readings.Hand.Made() {
		for _, row := range counts(c.Readings.Hand) {
			add(row[0], row[1], grading.NoField)
		}
	}
	for _, flag := range c.Readings.Flags {
		if slices.Contains(c.Held, flag) {
			t.Add("Held from "+string(c.HeldFrom), paper.Say("saw", flag))
			continue
		}
		t.Add("Seen or smelt", paper.Say("saw", flag))
	}
	if !slices.ContainsFunc(c.Readings.Flags, func(f grading.Flag) bool { return !f.OfWater() && !slices.Contains(c.Held, f) }) {
		said := c.Readings.Looked.String()
		if c.Readings.Looked == grading.WasLooked {
			said = "nothing"
		}
		t.Add("Seen or smelt", said)
	}
	return t
}

func Sign(with, without string, exclusive bool) string {
	if exclusive {
		return without
	}
	return with
}

package desk

import (
	"strconv"

	"threshline/advice"
	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session"
)

// remedy says the remedy that is most worth doing for a lot.
func (d *lotDesk) remedy(o *advice.Option, c *session.Check, now grading.GradeLabel, s *grading.Standard) *remedyView {
	if o.Remedy == "" {
		return nil
	}
	v := &remedyView{Name: paper.Say("remedy", o.Remedy), When: string(o.When), Because: paper.Say("because", o.Reason), Source: o.Source}
	if id := o.Because.Parameter; id != "" {
		label := string(id)
		places := 1
		if p := s.Parameter(id); p != nil {
			label, places = p.Label, p.Decimals
		}
		v.Because += ": " + label + " is " + o.Because.Value.AtLeast(places)
		if o.Because.HasLimit {
			v.Because += ", the limit " + o.Because.Limit.AtLeast(places)
		}
	} else if o.Because.Gate != "" {
		v.Because += ": " + d.stoppedBy(c, o.Because.Gate)
	}
	if o.Becomes != "" && o.Becomes != now {
		v.Becomes = string(o.Becomes) + ", with a chance of " + paper.Chance(o.BecomesChance)
	}
	add := v.Facts.Add
	if o.Target > 0 {
		add("Bring it to", o.Target.String())
	}
	if o.Gain != 0 {
		add("Expected gain", gain(o, d.programme.Currency))
	}
	if o.KGLost > 0 {
		add("Weight lost", paper.Figure(o.KGLost, 1)+paper.Thin+"kg")
	}
	if o.Hours > 0 {
		add("Work", paper.Figure(o.Hours, 1)+" hours")
	}
	if o.Cost > 0 {
		add("Cost", paper.Money(o.Cost)+" "+d.programme.Currency)
	}
	if o.CostUnknown {
		add("Not in the cost", "what is paid for it: price not known")
	}
	switch {
	case o.DueDays == 0:
		add("By when", "today")
	case o.DueDays > 0:
		add("By when", "within "+paper.Plural(o.DueDays, "day"))
	}
	for _, c := range o.Cautions {
		v.Cautions = append(v.Cautions, paper.Say("caution", c))
	}
	return v
}

// gain is what a remedy is expected to gain, in its own unit.
func gain(o *advice.Option, currency string) string {
	if o.InMoney {
		return paper.Money(o.Gain) + " " + currency
	}
	return strconv.FormatFloat(o.Gain, 'f', 2, 64) + " grades"
}

// considered lists the remedies that were weighed, and why each won or lost.
// Remedies that the lot does not need are only counted.
func considered(a *advice.Advice, now grading.GradeLabel, currency string) paper.Table {
	t := paper.Table{Head: paper.Heads("Remedy", "Acts on", "Why", "Would become", "#Expected gain")}
	uncalled := 0
	for i := range a.Considered {
		o := &a.Considered[i]
		if o.Reason == advice.NotFound {
			uncalled++
			continue
		}
		becomes, expected := string(o.Becomes), "none"
		if o.Becomes == "" || o.Becomes == now {
			becomes = "no other grade"
		}
		if o.Gain != 0 {
			expected = gain(o, currency)
		}
		t.Add(paper.Say("remedy", o.Remedy), string(o.When), paper.Say("because", o.Reason), becomes, expected)
	}
	t.Caption = "The remedies that were weighed, best first; nothing in this lot calls for " + paper.Count(uncalled) + " others"
	return t
}

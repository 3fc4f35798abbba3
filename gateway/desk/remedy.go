package desk

import (
	"strconv"

	"threshline/advice"
	"threshline/grading"
)

// remedy says the remedy that is most worth doing for a lot.
func (d *Desk) remedy(o *advice.Option, now grading.GradeLabel, s *grading.Standard) *remedyView {
	if o.Remedy == "" {
		return nil
	}
	v := &remedyView{Name: say("remedy", o.Remedy), When: string(o.When), Because: say("because", o.Reason), Source: o.Source}
	if id := o.Because.Parameter; id != "" {
		label := string(id)
		places := 1
		if p := s.Parameter(id); p != nil {
			label, places = p.Label, p.Decimals
		}
		v.Because += ": " + label + " is " + plain(o.Because.Value, places)
		if o.Because.HasLimit {
			v.Because += ", the limit " + plain(o.Because.Limit, places)
		}
	} else if o.Because.Gate != "" {
		v.Because += ": " + say("gate", o.Because.Gate)
	}
	if o.Becomes != "" && o.Becomes != now {
		v.Becomes = string(o.Becomes) + ", with a chance of " + chance(o.BecomesChance)
	}
	add := func(term, text string) { v.Facts = append(v.Facts, fact{term, text}) }
	if o.Target > 0 {
		add("Bring it to", o.Target.String())
	}
	if o.Gain != 0 {
		add("Expected gain", gain(o, d.cfg.Programme.Currency))
	}
	if o.KGLost > 0 {
		add("Mass lost", strconv.FormatFloat(o.KGLost, 'f', 1, 64)+thin+"kg")
	}
	if o.Hours > 0 {
		add("Work", strconv.FormatFloat(o.Hours, 'f', 1, 64)+" hours")
	}
	if o.Cost > 0 {
		add("Cost", money(o.Cost)+" "+d.cfg.Programme.Currency)
	}
	if o.CostUnknown {
		add("Not in the cost", "the machine: the programme gives no tariff")
	}
	switch {
	case o.DueDays == 0:
		add("By when", "today")
	case o.DueDays > 0:
		add("By when", "within "+plural(o.DueDays, "day"))
	}
	for _, c := range o.Cautions {
		v.Cautions = append(v.Cautions, say("caution", c))
	}
	return v
}

// gain is what a remedy is expected to gain, in its own unit.
func gain(o *advice.Option, currency string) string {
	if o.InMoney {
		return money(o.Gain) + " " + currency
	}
	return strconv.FormatFloat(o.Gain, 'f', 2, 64) + " grades"
}

// considered lists the remedies that were weighed, and why each won or lost.
// What nothing in the lot calls for is only counted.
func considered(a *advice.Advice, now grading.GradeLabel, currency string) table {
	t := table{Head: heads("Remedy", "Acts on", "Why", "Would become", "#Expected gain")}
	uncalled := 0
	for i := range a.Considered {
		o := &a.Considered[i]
		if o.Reason == advice.NotFound {
			uncalled++
			continue
		}
		row := cells(say("remedy", o.Remedy), string(o.When), say("because", o.Reason), string(o.Becomes), "none")
		if o.Becomes == "" || o.Becomes == now {
			row[3].Text = "no other grade"
		}
		if o.Gain != 0 {
			row[4].Text = gain(o, currency)
		}
		t.Rows = append(t.Rows, row)
	}
	t.Caption = "The remedies that were weighed, best first; nothing in this lot calls for " + count(uncalled) + " others"
	return t
}

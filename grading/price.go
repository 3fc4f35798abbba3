package grading

// Adjustment is what one price rule does to one lot. It is kept apart from the
// grade: adjustments of the same Of add up ([EU-1272 Annex II]).
type Adjustment struct {
	Rule *PriceRule
	// From is the value from which the steps count, for the lot's grade.
	From Decimal
	// Steps is how many steps the value lies beyond From; whole unless the
	// rule counts part steps.
	Steps Ratio
	// Percent is the change of the price or the weight paid, negative for a cut.
	Percent Ratio
	// Capped says that the rule's cap took away a part of the change.
	Capped bool
}

// Adjustments applies the standard's price rules to a graded lot: one entry
// for each rule that changes anything, in the order of the standard. A
// parameter that was not measured changes nothing.
func Adjustments(s *Standard, res *Result) []Adjustment {
	var out []Adjustment
	for i := range s.Prices {
		rule := &s.Prices[i]
		if rule.Class != "" && rule.Class != res.Class {
			continue
		}
		pr := res.Parameter(rule.Parameter)
		if pr == nil || !pr.Measured {
			continue
		}
		from, ok := rule.from(res.Grade)
		if !ok {
			continue
		}
		if a := rule.adjust(pr.Value, from); a.Percent.num != 0 {
			out = append(out, a)
		}
	}
	return out
}

func (p *PriceRule) from(grade GradeLabel) (Decimal, bool) {
	if p.FromByGrade == nil {
		return p.From, true
	}
	d, ok := p.FromByGrade[grade]
	return d, ok
}

// adjust counts the steps between from and the value, and what they change.
func (p *PriceRule) adjust(value Ratio, from Decimal) Adjustment {
	a := Adjustment{Rule: p, From: from}
	if p.Decimals >= 0 {
		value = value.Round(p.Decimals).Ratio()
	}
	beyond := value.Sub(from.Ratio())
	if p.Below {
		beyond = beyond.neg()
	}
	if beyond.Cmp(0) <= 0 {
		return a
	}
	a.Steps = beyond.Mul(NewRatio(int64(One), int64(p.Step)))
	if !p.Part {
		a.Steps = a.Steps.floor()
	}
	a.Percent = a.Steps.Mul(p.Change.Ratio())
	if p.Cap != nil && past(a.Percent, *p.Cap) {
		a.Percent, a.Capped = p.Cap.Ratio(), true
	}
	return a
}

// past reports whether a change lies beyond its cap, away from zero.
func past(change Ratio, limit Decimal) bool {
	if limit < 0 {
		return change.Cmp(limit) < 0
	}
	return change.Cmp(limit) > 0
}

// floor is the whole part of a fraction that is not negative.
func (r Ratio) floor() Ratio {
	n, d := r.parts()
	return Ratio{n / d, 1}
}

package screen

import (
	"strings"

	"threshline/advice"
	"threshline/grading"
	"threshline/session/talk"
)

// buyersLimit is the highest moisture that the best grade takes.
func buyersLimit(t *talk.Talk) (grading.Decimal, bool) {
	s := t.Programme.Standard
	class, err := s.ClassOf(&grading.Readings{})
	if err != nil {
		return 0, false
	}
	return advice.MoistureLimit(s, class)
}

// bestPrice is the best grade that the programme has a price per kg for.
func bestPrice(t *talk.Talk) (grading.GradeLabel, grading.Decimal, bool) {
	for _, g := range t.Programme.Standard.Grades {
		if price := t.Programme.Advice.Prices[g.Label]; price > 0 {
			return g.Label, price, true
		}
	}
	return "", 0, false
}

func moneyText(t *talk.Talk, amount grading.Decimal) string {
	return priced(t, amount.Round(0))
}

// priced is an amount with the programme's currency.
func priced(t *talk.Talk, amount grading.Decimal) string {
	return strings.TrimSpace(t.Number(amount) + " " + t.Programme.Currency)
}

// moneyLine compares selling the lot wet with selling it dried, by the buyer's
// deductions; where there are none, it says what a wet kg is worth by its dry
// matter. It says which grade's price it takes, and nothing where there is no
// price, no limit to compare with, or the lot is seed.
func moneyLine(t *talk.Talk, h heap) string {
	label, price, ok := bestPrice(t)
	limit, limited := buyersLimit(t)
	if !ok || !limited || h.use != advice.Food {
		return ""
	}
	steps := t.Programme.Advice.Deductions
	worth, err := advice.WorthOf(h.kg, h.from, h.target, limit, price, steps)
	if err != nil {
		return ""
	}
	grade, dried := t.GradeWord(label), moneyText(t, worth.Dried)
	switch {
	case !worth.Taken:
		return t.Say("dry.refused", "from", t.Number(h.from), "grade", grade, "dried", dried)
	case len(steps) > 0 || h.from <= limit:
		return t.Say("dry.sold", "grade", grade, "now", moneyText(t, worth.AsIs), "dried", dried)
	}
	fair, err := advice.FairPrice(price, h.from, limit)
	if err != nil {
		return ""
	}
	return t.Say("dry.fair", "grade", grade, "fair", t.Number(fair.Round(2)), "price", priced(t, price))
}

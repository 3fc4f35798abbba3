package dry

import (
	"threshline/advice"
	"threshline/grading"
	"threshline/session/screen/answer"
	"threshline/session/talk"
)

// buyersLimit is the highest moisture that the best grade allows.
func buyersLimit(t *talk.Talk) (grading.Decimal, bool) {
	s := t.Programme.Standard
	class, err := s.ClassOf(&grading.Readings{})
	if err != nil {
		return 0, false
	}
	return advice.MoistureLimit(s, class)
}

// priceAt returns the best grade that a lot with this moisture can have, by the
// standard in force, and its price per kg; false when nobody has set that
// price.
func priceAt(t *talk.Talk, moisture grading.Decimal) (grading.GradeLabel, grading.Decimal, bool) {
	res, err := grading.Grade(t.Programme.Standard, grading.Readings{Repeats: []grading.Decimal{moisture}})
	if err != nil {
		return "", 0, false
	}
	price := t.Programme.Advice.Prices[res.Grade]
	if res.OutOfGrade() {
		price = t.Programme.Advice.OutPrice
	}
	return res.Grade, price, price > 0
}

// moneyLine compares selling the lot wet, at the price of the grade that it can
// have so, with selling it dried, by the buyer's deductions; where nobody has
// said what it fetches wet, it says what a wet kg is worth by its dry matter. It
// says which grades' prices it takes, and nothing where there is no price, no
// limit to compare with, or the lot is seed.
func moneyLine(t *talk.Talk, h heap) string {
	label, price, ok := priceAt(t, h.target)
	limit, limited := buyersLimit(t)
	if !ok || !limited || h.use != advice.Food {
		return ""
	}
	steps := t.Programme.Advice.Deductions
	worth, err := advice.WorthOf(h.kg, h.from, h.target, limit, price, steps)
	if err != nil {
		return ""
	}
	grade, dried := t.GradeWord(label), answer.MoneyText(t, worth.Dried)
	was, now, known := priceAt(t, h.from)
	paid, taken := advice.Deduct(now, h.from, steps)
	switch {
	case !taken:
		return t.Say("dry.refused", "from", t.Number(h.from), "grade", grade, "dried", dried)
	case known && was == label, !known && len(steps) > 0: // the buyer's steps say that it is bought
		return t.Say("dry.sold", "grade", grade, "now", answer.MoneyText(t, worth.AsIs), "dried", dried)
	case known:
		sold := grading.NewRatio(int64(h.kg), int64(grading.One)).Mul(paid.Ratio()).Round(0)
		return t.Say("dry.sold_up", "was", t.GradeWord(was), "now", answer.MoneyText(t, sold), "grade", grade, "dried", dried)
	}
	fair, err := advice.FairPrice(price, h.from, limit)
	if err != nil {
		return ""
	}
	return t.Say("dry.fair", "grade", grade, "fair", t.Number(fair.Round(2)), "price", answer.Priced(t, price))
}

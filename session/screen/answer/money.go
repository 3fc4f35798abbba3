package answer

import (
	"strings"

	"threshline/grading"
	"threshline/session/talk"
)

// MoneyText is an amount in whole units of the programme's currency.
func MoneyText(t *talk.Talk, amount grading.Decimal) string {
	return Priced(t, amount.Round(0))
}

// Priced is an amount with the programme's currency.
func Priced(t *talk.Talk, amount grading.Decimal) string {
	return strings.TrimSpace(t.Number(amount) + " " + t.Programme.Currency)
}

// BestPrice is the best grade that the programme has a price per kg for.
func BestPrice(t *talk.Talk) (grading.GradeLabel, grading.Decimal, bool) {
	for _, g := range t.Programme.Standard.Grades {
		if price := t.Programme.Advice.Prices[g.Label]; price > 0 {
			return g.Label, price, true
		}
	}
	return "", 0, false
}

package advice

import (
	"fmt"

	"threshline/grading"
)

// FairPrice is the price per kg at which a lot of moisture pays the same for
// its dry matter as price pays at reference, both % wet basis:
// price x (100-moisture)/(100-reference). Source: derived from the mass balance
// of [IRRI-MC]; the same form is in use for hay ([HAY-15]). It returns
// ErrMoisture, and ErrWeight for a negative price.
func FairPrice(price, moisture, reference grading.Decimal) (grading.Decimal, error) {
	for _, m := range []grading.Decimal{moisture, reference} {
		if m < 0 || m >= hundred {
			return 0, fmt.Errorf("%w: %q %%, want 0 to under 100", ErrMoisture, m.String())
		}
	}
	if price < 0 || price > MaxKG {
		return 0, fmt.Errorf("%w: price %q", ErrWeight, price.String())
	}
	return mulDiv(price, hundred-moisture, hundred-reference), nil
}

// GivenAway is the money lost on a lot that is drier than it needs to be: the
// water it could still have at limit, at price per kg. It is 0 at or above
// limit. Errors are those of Dry.
func GivenAway(kg, moisture, limit, price grading.Decimal) (grading.Decimal, error) {
	if moisture >= limit {
		return 0, nil
	}
	full, err := WetNeeded(kg, limit, moisture)
	if err != nil {
		return 0, err
	}
	return mulDiv(full-kg, price, grading.One), nil
}

// Deduct applies a buyer's stepped deductions to price. Each band takes its
// whole cut off the full price; moisture at or under the first band's Over is
// not cut. accepted is false above the last band: the buyer does not take it
// and paid is 0. With no bands nothing is cut. The bands stand dry to wet.
func Deduct(price, moisture grading.Decimal, bands []Deduction) (paid grading.Decimal, accepted bool) {
	if len(bands) == 0 || moisture <= bands[0].Over {
		return price, true
	}
	for _, b := range bands {
		if moisture > b.Over && moisture <= b.UpTo {
			return mulDiv(price, hundred-min(b.Cut, hundred), hundred), true
		}
	}
	return 0, false
}

// TamilNadu2022 are the deductions that the Indian state of Tamil Nadu was
// given for 2022: 17 % is accepted, 1 % of the price is cut above 17 up to 18,
// 2 % above 18 up to 19. They step; they are not in proportion. An example of
// the form, not a default. Source: [TN-2022].
func TamilNadu2022() []Deduction {
	return []Deduction{
		{Over: 17 * grading.One, UpTo: 18 * grading.One, Cut: 1 * grading.One},
		{Over: 18 * grading.One, UpTo: 19 * grading.One, Cut: 2 * grading.One},
	}
}

package advice

import (
	"errors"
	"fmt"
	"math/bits"

	"threshline/grading"
)

// Faults of the drying arithmetic, wrapped with the numbers that caused them.
var (
	// ErrMoisture: a moisture under 0 % or not under 100 %.
	ErrMoisture = errors.New("advice: moisture out of range")
	// ErrWetter: the target is wetter than the grain; water is not added to paddy.
	ErrWetter = errors.New("advice: the target is wetter than the grain")
	// ErrWeight: a weight under 0 kg, or above MaxKG.
	ErrWeight = errors.New("advice: weight out of range")
)

// MaxKG is the heaviest lot that is computed with, 100,000 t, so that no
// product overflows.
const MaxKG grading.Decimal = 100_000_000 * grading.One

const hundred = 100 * grading.One

// Dry returns the weight of kg of paddy after drying from moisture from to
// moisture to, both % wet basis, from 0 inclusive to 100 exclusive: kg x
// (100-from)/(100-to), since the dry matter stays. The result is rounded half
// up to a tenth of a gram. Source: [IRRI-MC], "1000 kg from 25 % to 14 % is 872
// kg".
//
// It returns ErrMoisture, ErrWeight, or ErrWetter when to is above from: taking
// moisture up is never computed as drying.
func Dry(kg, from, to grading.Decimal) (grading.Decimal, error) {
	if err := checkDrying(kg, from, to); err != nil {
		return 0, err
	}
	return mulDiv(kg, hundred-from, hundred-to), nil
}

// WetNeeded is the inverse of Dry: how much paddy at from, % wet basis, is
// needed to have kg at to. Mixing the bases here costs hundreds of kg: to buy
// for 8,000 kg at 12 % dry basis from paddy at 20 % wet basis takes 8,928.57 kg,
// after 12 % dry basis is turned to 10.71 % wet basis. Source: [MATHIX-PADDY].
// Errors are those of Dry.
func WetNeeded(kg, from, to grading.Decimal) (grading.Decimal, error) {
	if err := checkDrying(kg, from, to); err != nil {
		return 0, err
	}
	return mulDiv(kg, hundred-to, hundred-from), nil
}

func checkDrying(kg, from, to grading.Decimal) error {
	for _, m := range []grading.Decimal{from, to} {
		if m < 0 || m >= hundred {
			return fmt.Errorf("%w: %q %%, want 0 to under 100", ErrMoisture, m.String())
		}
	}
	if kg < 0 || kg > MaxKG {
		return fmt.Errorf("%w: %q kg, want 0 to %s", ErrWeight, kg.String(), MaxKG)
	}
	if to > from {
		return fmt.Errorf("%w: from %q %% to %q %%", ErrWetter, from.String(), to.String())
	}
	return nil
}

// mulDiv is a*b/c with a 128-bit product, rounded half up. All are at least 0,
// c is not 0, and the quotient fits: callers check.
func mulDiv(a, b, c grading.Decimal) grading.Decimal {
	hi, lo := bits.Mul64(uint64(a), uint64(b))
	lo, carry := bits.Add64(lo, uint64(c)/2, 0)
	q, _ := bits.Div64(hi+carry, lo, uint64(c))
	return grading.Decimal(q)
}

package grading

import (
	"math/big"
	"math/bits"
)

// wide is the denominator of a result that no longer fits in lowest terms.
const wide = 1_000_000_000

// product is a*b, and whether it fits. b is positive.
func product(a, b int64) (int64, bool) {
	hi, lo := bits.Mul64(magnitude(a), uint64(b))
	if hi != 0 || lo > 1<<63-1 {
		return 0, false
	}
	if a < 0 {
		return -int64(lo), true
	}
	return int64(lo), true
}

// timesSigned is product for factors of either sign.
func timesSigned(a, b int64) (int64, bool) {
	if b < 0 {
		n, ok := product(a, -b)
		return -n, ok
	}
	return product(a, b)
}

// plus is a+b, and whether it fits.
func plus(a, b int64) (int64, bool) {
	s := a + b
	return s, (s > a) == (b > 0)
}

// fit reduces a fraction of any size. Where even the lowest terms do not fit
// into 64 bits, it is rounded half up to the billionth: far beyond what any
// reading tells apart.
func fit(num, den *big.Int) Ratio {
	r := new(big.Rat).SetFrac(num, den)
	if r.Num().IsInt64() && r.Denom().IsInt64() {
		return Ratio{r.Num().Int64(), r.Denom().Int64()}
	}
	twice := new(big.Int).Mul(r.Num(), big.NewInt(2*wide))
	half := new(big.Int).Set(r.Denom())
	if twice.Sign() < 0 {
		half.Neg(half)
	}
	twice.Add(twice, half)
	q := twice.Quo(twice, new(big.Int).Lsh(r.Denom(), 1))
	return NewRatio(q.Int64(), wide)
}

// wideAdd is the sum of a/b and c/d by way of integers of any size.
func wideAdd(a, b, c, d int64) Ratio {
	num := new(big.Int).Mul(big.NewInt(a), big.NewInt(d))
	num.Add(num, new(big.Int).Mul(big.NewInt(c), big.NewInt(b)))
	return fit(num, new(big.Int).Mul(big.NewInt(b), big.NewInt(d)))
}

// wideMul is the product of a/b and c/d likewise.
func wideMul(a, b, c, d int64) Ratio {
	return fit(new(big.Int).Mul(big.NewInt(a), big.NewInt(c)), new(big.Int).Mul(big.NewInt(b), big.NewInt(d)))
}

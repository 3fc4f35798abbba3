package grading

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// ErrInterval is wrapped by the errors of Interval.
var ErrInterval = errors.New("grading: interval")

// Interval is the exact (Clopper-Pearson) interval of a share, as fractions of
// 1, when x of n kernels show the fault: the lot's share lies inside in at
// least level (0.95 for 95 %) of all samples. Errors wrap ErrInterval: n under
// 1, x outside 0 to n, level not between 0 and 1.
// Source: [NIST-PRC242], lower = BetaInv((1-level)/2; x, n-x+1), upper =
// BetaInv((1+level)/2; x+1, n-x).
func Interval(x, n int, level float64) (low, high float64, err error) {
	switch {
	case n < 1:
		return 0, 0, fmt.Errorf("%w: %d kernels counted", ErrInterval, n)
	case x < 0 || x > n:
		return 0, 0, fmt.Errorf("%w: %d of %d kernels", ErrInterval, x, n)
	case !(level > 0 && level < 1):
		return 0, 0, fmt.Errorf("%w: level %v", ErrInterval, level)
	}
	low, high = shareInterval(float64(x), float64(n), level)
	return low, high, nil
}

// shareInterval is Interval for counts that need not be whole, which a pooled
// or a converted share may give.
func shareInterval(x, n, level float64) (low, high float64) {
	tail := (1 - level) / 2
	high = 1
	if x > 0 {
		low = betaQuantile(x, n-x+1, tail)
	}
	if x < n {
		high = betaQuantile(x+1, n-x, 1-tail)
	}
	return low, high
}

// betaQuantile is the inverse of the regularized incomplete beta function. The
// library's search starts well but is left a last Newton step short in some
// skew cases; one more costs a third and brings all to 1e-9.
func betaQuantile(a, b, p float64) float64 {
	x := mathext.InvRegIncBeta(a, b, p)
	if x <= 0 || x >= 1 {
		return x
	}
	lg := lgamma(a+b) - lgamma(a) - lgamma(b)
	density := math.Exp(lg + (a-1)*math.Log(x) + (b-1)*math.Log1p(-x))
	if density < 1e-300 || math.IsInf(density, 1) {
		return x
	}
	return min(max(x-(mathext.RegIncBeta(a, b, x)-p)/density, 0), 1)
}

func lgamma(x float64) float64 {
	l, _ := math.Lgamma(x)
	return l
}

// gammaChance is P(X <= x) for a gamma variable of that shape and scale 1.
func gammaChance(shape, x float64) float64 {
	switch {
	case x <= 0:
		return 0
	case shape > wideShape:
		// Wilson and Hilferty: the cube root is all but normal.
		c := 1 / (9 * shape)
		return normalChance((math.Cbrt(x/shape) - 1 + c) / math.Sqrt(c))
	}
	return mathext.GammaIncReg(shape, x)
}

// wideShape is where Wilson and Hilferty's cube root agrees with the exact
// gamma to 5e-5, and the exact series gets long.
const wideShape = 200

// gammaQuantile is the inverse of gammaChance: by Wilson and Hilferty's cube
// root, within 3 %, from a shape of 3 on; below it from the first terms of the
// series or the cube root, bettered by Newton's steps to within 0.1 %.
func gammaQuantile(shape, p float64) float64 {
	c := 1 / (9 * shape)
	root := max(1-c+normalQuantile(p)*math.Sqrt(c), 0)
	x := shape * root * root * root
	if shape >= rootShape {
		return x
	}
	lg := lgamma(shape + 1)
	if p < 0.5 {
		x = math.Exp((math.Log(p) + lg) / shape)
		x += x * x / (shape + 1)
	}
	if x < 1e-12 {
		return 0
	}
	for range 2 {
		density := math.Exp((shape-1)*math.Log(x)-x-lg) * shape
		x = max(x-(mathext.GammaIncReg(shape, x)-p)/density, x/2)
	}
	return x
}

const rootShape = 3

// normalChance is P(Z <= z) of the standard normal.
func normalChance(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// normalQuantile is the inverse of normalChance.
func normalQuantile(p float64) float64 { return mathext.NormalQuantile(p) }

// betaChance is P(X <= x) for a beta variable.
func betaChance(a, b, x float64) float64 {
	switch {
	case x <= 0:
		return 0
	case x >= 1:
		return 1
	}
	return mathext.RegIncBeta(a, b, x)
}

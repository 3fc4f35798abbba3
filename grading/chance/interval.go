package chance

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// ErrInterval is wrapped by the errors of Interval.
var ErrInterval = errors.New("grading: interval")

// Interval is the exact (Clopper-Pearson) interval of a share, as fractions of
// 1, when x of n grains show the fault: the lot's share lies inside in at
// least level (0.95 for 95 %) of all samples. Errors wrap ErrInterval: n under
// 1, x outside 0 to n, level not between 0 and 1.
// Source: [NIST-PRC242], lower = BetaInv((1-level)/2; x, n-x+1), upper =
// BetaInv((1+level)/2; x+1, n-x).
func Interval(x, n int, level float64) (low, high float64, err error) {
	switch {
	case n < 1:
		return 0, 0, fmt.Errorf("%w: %d grains counted", ErrInterval, n)
	case x < 0 || x > n:
		return 0, 0, fmt.Errorf("%w: %d of %d grains", ErrInterval, x, n)
	case !(level > 0 && level < 1):
		return 0, 0, fmt.Errorf("%w: level %v", ErrInterval, level)
	}
	low, high = shareInterval(float64(x), float64(n), level)
	return low, high, nil
}

// shareInterval is Interval for counts that need not be whole, which a pooled
// or a converted share may give.
func shareInterval(x, n, level float64) (low, high float64) {
	return shareLow(x, n, level), shareHigh(x, n, level)
}

func shareLow(x, n, level float64) float64 {
	if x <= 0 {
		return 0
	}
	return betaQuantile(x, n-x+1, (1-level)/2)
}

func shareHigh(x, n, level float64) float64 {
	if x >= n {
		return 1
	}
	return betaQuantile(x+1, n-x, (1+level)/2)
}

// betaQuantile is the inverse of the regularized incomplete beta function, to
// 1e-9: Halley's steps from a near start, three or four as a rule; from the
// library's search, which takes three times as long, where they do not come to
// rest.
func betaQuantile(a, b, p float64) float64 {
	lg := lgamma(a+b) - lgamma(a) - lgamma(b)
	x := betaStart(a, b, p)
	for range 12 {
		if !(x > 0 && x < 1) {
			break
		}
		density := math.Exp(lg + (a-1)*math.Log(x) + (b-1)*math.Log1p(-x))
		if density < 1e-300 || math.IsInf(density, 1) {
			break
		}
		newton := (mathext.RegIncBeta(a, b, x) - p) / density
		curve := (a-1)/x - (b-1)/(1-x)
		step := newton / (1 - min(1, newton*curve)/2)
		if next := x - step; next <= 0 {
			x /= 2
		} else if next >= 1 {
			x = (x + 1) / 2
		} else {
			x = next
		}
		if math.Abs(step) < 1e-4*min(x, 1-x) { // the next would be of its cube
			return x
		}
	}
	return betaSearch(a, b, p, lg)
}

// betaStart is near betaQuantile: by the normal that the logarithm of the odds
// is close to, [AS-1964 §26.5.22]; with a shape under 1 by the power that the
// nearer end is like.
func betaStart(a, b, p float64) float64 {
	if a >= 1 && b >= 1 {
		z := -normalQuantile(p)
		lambda := (z*z - 3) / 6
		h := 2 / (1/(2*a-1) + 1/(2*b-1))
		w := z*math.Sqrt(lambda+h)/h - (1/(2*b-1)-1/(2*a-1))*(lambda+5.0/6-2/(3*h))
		return a / (a + b*math.Exp(2*w))
	}
	left, right := math.Pow(a/(a+b), a)/a, math.Pow(b/(a+b), b)/b
	whole := left + right
	if p*whole < left {
		return math.Pow(a*whole*p, 1/a)
	}
	return 1 - math.Pow(b*whole*(1-p), 1/b)
}

// betaSearch is betaQuantile by the library's search, which is left a last
// Newton step short in some skew cases.
func betaSearch(a, b, p, lg float64) float64 {
	x := mathext.InvRegIncBeta(a, b, p)
	if x <= 0 || x >= 1 {
		return x
	}
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

// gammaChance is P(X <= x) for a gamma variable of that shape and scale 1, lg being
// lgamma(shape): to 1e-11, by the series of [DLMF-8 §8.11.4] under the shape and the
// continued fraction of §8.9.2 above. It is our own since the library finds lg
// anew for each limit, which takes as long as all the rest.
func gammaChance(shape, x, lg float64) float64 {
	switch {
	case x <= 0:
		return 0
	case shape > wideShape:
		// Wilson and Hilferty: the cube root is all but normal.
		c := 1 / (9 * shape)
		return normalChance((math.Cbrt(x/shape) - 1 + c) / math.Sqrt(c))
	}
	log := shape*math.Log(x) - x - lg
	if x < shape+1 {
		if log < allButNone {
			return 0
		}
		// The sum's terms have one denominator, since dividing takes longest: under
		// 1e260 at wideShape.
		term, sum, under := 1.0, 1.0, shape
		for r := shape + 1; term > chanceStep*sum; r++ {
			term *= x
			sum = sum*r + term
			under *= r
		}
		return min(math.Exp(log)*sum/under, 1)
	}
	if log < allButNone {
		return 1
	}
	return max(1-math.Exp(log)*gammaFraction(shape, x), 0)
}

// gammaFraction is the continued fraction: the last of its convergents, each of which
// is made of the two before it without dividing.
func gammaFraction(shape, x float64) float64 {
	b := x + 1 - shape
	over, under, lastOver, lastUnder := 1.0, b, 0.0, 1.0
	for i := 1.0; i < 1000; i++ {
		a := i * (shape - i)
		b += 2
		over, lastOver = b*over+a*lastOver, over
		under, lastUnder = b*under+a*lastUnder, under
		if math.Abs(over*lastUnder-lastOver*under) < chanceStep*math.Abs(over*lastUnder) {
			break
		}
		if math.Abs(under) > large {
			over, under, lastOver, lastUnder = over/large, under/large, lastOver/large, lastUnder/large
		}
	}
	return over / under
}

const (
	// allButNone is a logarithm of what is no chance any more.
	allButNone = -32
	// chanceStep is where a series for a chance ends.
	chanceStep = 1e-12
	// large is where convergents are made smaller, so that they stay numbers.
	large = 1e100
)

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
func normalQuantile(p float64) float64 {
	switch p {
	case lowTail:
		return lowReach
	case highTail:
		return highReach
	}
	return mathext.NormalQuantile(p)
}

// What bounds at Level cut off, and how far out in a normal that is.
const lowTail, highTail = (1 - Level) / 2, (1 + Level) / 2

var lowReach, highReach = mathext.NormalQuantile(lowTail), mathext.NormalQuantile(highTail)

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

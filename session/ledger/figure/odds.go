package figure

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"

	"threshline/grading/chance"
)

// ChiSquareChance is the chance that a chi-square variable of some degrees of
// freedom is at least x.
func ChiSquareChance(x, freedom float64) float64 {
	if x <= 0 {
		return 1
	}
	return mathext.GammaIncRegComp(freedom/2, x/2)
}

// AtLeast is the exact chance of hits or more in n trials of chance p each.
func AtLeast(hits, n int, p float64) float64 {
	if hits <= 0 {
		return 1
	}
	if hits > n {
		return 0
	}
	return mathext.RegIncBeta(float64(hits), float64(n-hits+1), p)
}

// NormalTwice is the chance of as much or more on either side.
func NormalTwice(z float64) float64 { return math.Erfc(math.Abs(z) / math.Sqrt2) }

// StudentTwice is the same for Student's t.
func StudentTwice(t, freedom float64) float64 {
	return mathext.RegIncBeta(freedom/2, 0.5, freedom/(freedom+t*t))
}

// Overspread is how much more findings scatter than each one's own chance
// explains, as a factor of the variance, at least 1: the median of their
// squares over that of chi-square with one degree of freedom, which a few odd
// ones do not move.
func Overspread(z []float64) float64 {
	squares := make([]float64, len(z))
	for i := range z {
		squares[i] = z[i] * z[i]
	}
	slices.Sort(squares)
	if len(squares) == 0 {
		return 1
	}
	n := len(squares)
	usual := mathext.NormalQuantile(0.75)
	return max(1, (squares[(n-1)/2]+squares[n/2])/2/(usual*usual))
}

// ThreeAlike is the chance that three readings of one lot are equal, if a meter repeats
// within spread and shows steps: the mean over all places of the lot between two steps.
func ThreeAlike(spread, step float64) float64 {
	const parts = 32
	normal := distuv.Normal{Sigma: spread}
	sum := 0.0
	for i := range parts {
		at := step * (float64(i) + 0.5) / parts
		for k := -math.Ceil(6 * spread / step); k <= math.Ceil(6*spread/step)+1; k++ {
			p := normal.CDF((k+0.5)*step-at) - normal.CDF((k-0.5)*step-at)
			sum += p * p * p
		}
	}
	return sum / parts
}

// Shown is the standard deviation of readings of one lot as a display shows them:
// larger than the meter's own because of rounding, smaller if nearly all readings round
// alike. Exact for lots anywhere between two steps: the square of a difference, taken
// straight between whole steps, averaged.
func Shown(spread, step float64) float64 {
	variance := spread*spread + step*step/12
	for k := 1.0; k < 50; k++ {
		variance -= step * step / (2 * math.Pi * math.Pi * k * k) * math.Exp(-4*math.Pi*math.Pi*k*k*spread*spread/(step*step))
	}
	return math.Sqrt(variance)
}

// Holm corrects chances for being several, by Holm's step-down method: the smallest
// times their number, the next times one less, never below the one before, at most 1.
// Source: [HOLM-1979].
func Holm(chances []float64) []float64 {
	order := make([]int, len(chances))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(chances[a], chances[b]) })
	out, most := make([]float64, len(chances)), 0.0
	for n, i := range order {
		most = max(most, min(1, chances[i]*float64(len(chances)-n)))
		out[i] = most
	}
	return out
}

// Share is Count of Of.
type Share struct{ Count, Of int }

// Value is the share as a fraction of 1; 0 of none.
func (s Share) Value() float64 {
	if s.Of == 0 {
		return 0
	}
	return float64(s.Count) / float64(s.Of)
}

// Interval is the exact 95 % interval of the share, as fractions of 1: were the
// checks a sample of many such lots, the share of all would lie inside in at
// least 95 of 100 samples. 0 to 1 when there are none. Source: [NIST-PRC242],
// by chance.Interval.
func (s Share) Interval() (low, high float64) {
	low, high, err := chance.Interval(s.Count, s.Of, 0.95)
	if err != nil {
		return 0, 1
	}
	return low, high
}

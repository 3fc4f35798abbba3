package byhand

import (
	"math"
	"sort"

	"threshline/grading/chance"
)

// The shares that a belief lies over: steps of equal ratio, in fractions of 1.
const (
	leastShare, mostShare = 1e-4, 0.6
	steps                 = 64
)

// step is the log of the ratio.
var step = math.Log(mostShare/leastShare) / (steps - 1)

func shareAt(i float64) float64 { return leastShare * math.Exp(i*step) }

// belief is the chance that a share lies up to each step; sums end at 1.
type belief [steps]float64

// believe weighs every share by what is usual and by how likely it makes the
// count. The evidence is the log of the sum: how likely the count was at all.
func believe(u chance.Usual, likely func(share float64) float64) (b belief, evidence float64) {
	mean, deviation := u.Mean/100, u.Deviation/100
	shape := mean * mean / (deviation * deviation)
	rate := mean / (deviation * deviation)
	var log, seen belief
	top := math.Inf(-1)
	for i := range log {
		x := shareAt(float64(i))
		log[i] = shape*math.Log(x) - rate*x // of the gamma over equal ratios
		if i == 0 {
			log[i] += math.Log1p(1 / (shape * step)) // and all that is less
		}
		if likely != nil {
			seen[i] = likely(x)
		}
		top = max(top, log[i]+seen[i])
	}
	sum, prior := 0.0, 0.0
	for i := range b {
		prior += math.Exp(log[i] - top)
		sum += math.Exp(log[i] + seen[i] - top)
		b[i] = sum
	}
	for i := range b {
		b[i] /= sum
	}
	return b, math.Log(sum / prior)
}

// at is the share under which a chance u lies.
func (b *belief) at(u float64) float64 {
	i := sort.Search(steps-1, func(i int) bool { return b[i] >= u })
	before := 0.0
	if i > 0 {
		before = b[i-1]
	}
	within := 0.5
	if b[i] > before {
		within = (u - before) / (b[i] - before)
	}
	if i == 0 {
		return leastShare * within
	}
	return shareAt(float64(i) - 0.5 + within)
}

// ofCount is the log likelihood of x of n, when the fraction is p on average with a
// relative variance from handful to handful: beta-binomial.
func ofCount(x, n int, p, variance float64) float64 {
	p = min(max(p, 1e-9), 1-1e-9)
	k := max(1/(variance*p*(1-p))-1, 0.5)
	if variance*p < 1e-9 {
		k = 1e9
	}
	a, b := p*k, (1-p)*k
	return logBeta(a+float64(x), b+float64(n-x)) - logBeta(a, b)
}

// ofNumber is the log likelihood of a number of pieces of which mean are expected:
// negative binomial.
func ofNumber(x int, mean, variance float64) float64 {
	k := 1 / max(variance, 1e-9)
	return logGamma(k+float64(x)) - logGamma(k) + k*math.Log(k/(k+mean)) + float64(x)*math.Log(max(mean, 1e-300)/(k+mean))
}

func logGamma(x float64) float64 {
	v, _ := math.Lgamma(x)
	return v
}

func logBeta(a, b float64) float64 { return logGamma(a) + logGamma(b) - logGamma(a+b) }

package chance

import (
	"math"

	"threshline/grading"
)

// family is the shape of a belief.
type family uint8

const (
	unknown family = iota // no error model: the value stands as it is
	betaLike
	gammaLike
	normalLike
	stepLike // a scale's step outweighs the sampling error
)

// belief is the distribution of a parameter's value in the lot, given the
// sample: value = shift + sign*X, X in the parameter's unit.
type belief struct {
	family      family
	a, b        float64 // beta: shapes; gamma: shape, scale; normal, step: mean, deviation
	lg          float64 // gamma: lgamma of the shape, once it was asked for
	hasLg       bool
	half        float64 // step: half width of the even error
	shift, sign float64
	// mean and variance of X under the belief; low and high bound the value.
	mean, variance, low, high float64
}

// under is the chance that the lot's value is at most limit.
func (b *belief) under(limit float64) float64 {
	if b.sign < 0 {
		return 1 - b.plain(b.shift-limit)
	}
	return b.plain(limit - b.shift)
}

// farOut is how many deviations from the mean a chance is taken as 0 or 1; for
// the most skew belief in use, an exponential, that cuts off 1e-5.
const farOut = 11

func (b *belief) plain(x float64) float64 {
	if d := (x - b.mean); d*d > farOut*farOut*b.variance {
		if d > 0 {
			return 1
		}
		return 0
	}
	switch b.family {
	case betaLike:
		return betaChance(b.a, b.b, x/100)
	case gammaLike:
		if !b.hasLg {
			b.lg, b.hasLg = lgamma(b.a), true
		}
		return gammaChance(b.a, x/b.b, b.lg)
	case stepLike:
		none := smearedChance(-b.a, b.b, b.half)
		return (smearedChance(x-b.a, b.b, b.half) - none) / (1 - none)
	}
	return normalChance((x - b.a) / b.b)
}

// smearedChance is P(N + U <= x), N normal around 0 with that deviation and U
// even over -half to half: the integral of the normal's own chance, in closed
// form.
func smearedChance(x, deviation, half float64) float64 {
	ramp := func(z float64) float64 {
		return z*normalChance(z) + math.Exp(-z*z/2)/math.Sqrt(2*math.Pi)
	}
	return min(max((ramp((x+half)/deviation)-ramp((x-half)/deviation))*deviation/(2*half), 0), 1)
}

// within is the chance that the lot's value is within the bound.
func (b *belief) within(bound *grading.Bound) float64 {
	chance := 1.0
	if bound.Max != nil {
		chance = b.under(bound.Max.Float())
	}
	if bound.Min != nil {
		chance -= b.under(bound.Min.Float())
	}
	return min(max(chance, 0), 1)
}

// normalBelief is a belief with the same deviation on both sides.
func normalBelief(mean, deviation float64) belief {
	reach := reach95 * deviation
	return belief{
		family: normalLike, a: mean, b: deviation, sign: 1, mean: mean, variance: deviation * deviation,
		low: mean - reach, high: mean + reach,
	}
}

// reach95 is how many deviations of a normal enclose Level.
const reach95 = 1.959963984540054

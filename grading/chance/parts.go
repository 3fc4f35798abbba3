package chance

import "math"

// part is what one fraction adds to a parameter, in the parameter's unit.
type part struct {
	value, low, high float64 // as measured, with its own 95 % bounds
	mean, variance   float64 // of the belief, the scale's step left out
	step             float64 // variance of the scale's step
	even             bool    // scatters to both sides alike: normal
}

// sum gathers independent parts.
type sum struct {
	value, below, above float64 // below and above: squared reaches of the bounds
	mean, variance      float64
	step                float64
	even                bool
	parts               int
}

func (s *sum) join(p part) {
	s.value += p.value
	s.below += (p.value - p.low) * (p.value - p.low)
	s.above += (p.high - p.value) * (p.high - p.value)
	s.mean += p.mean
	s.variance += p.variance
	s.step += p.step
	s.even = s.even || p.even
	s.parts++
}

// joinAll joins another sum, times factor.
func (s *sum) joinAll(other *sum, factor float64) {
	s.value += factor * other.value
	s.mean += factor * other.mean
	for _, square := range [...]struct{ to, of *float64 }{
		{&s.below, &other.below}, {&s.above, &other.above}, {&s.variance, &other.variance}, {&s.step, &other.step},
	} {
		*square.to += factor * factor * *square.of
	}
	s.even = s.even || other.even
	s.parts += other.parts
}

// belief fits a gamma to the moments: exact for specks of one weight, and the
// stated approximation for a sum of several kinds or of weights and counts. A
// part that scatters evenly makes it normal; a scale step wider than the
// sampling error makes it an even error smeared by a normal one. The bounds
// are those of the parts, their reaches added as squares.
func (s *sum) belief() belief {
	variance := s.variance + s.step
	b := belief{
		sign: 1, mean: s.mean, variance: variance,
		low: s.value - math.Sqrt(s.below), high: s.value + math.Sqrt(s.above),
	}
	switch {
	case s.even:
		b.family, b.a, b.b = normalLike, s.mean, math.Sqrt(variance)
	case s.step > s.variance:
		b.family, b.a, b.b = stepLike, s.mean, math.Sqrt(s.variance)
		b.half = math.Sqrt(3 * s.step)
	default:
		b.family, b.a, b.b = gammaLike, s.mean*s.mean/variance, variance/s.mean
	}
	return b
}

// particles is a part of number particles that each add unit. Thin (0 to 1) is
// what the binomial leaves of the Poisson's variance; added and samples are
// the prior.
func (w *believer) particles(number, unit, thin, step, added, samples float64) part {
	weight := unit / (1 + samples)
	return part{
		value: number * unit, step: step,
		mean: (number + added) * weight, variance: (number + added) * weight * weight * thin,
	}
}

// bounding is which of a belief's bounds are asked for: the chances need none.
type bounding uint8

const (
	lower bounding = 1 << iota
	upper
)

// mostOfNone is how many particles there may be, as an upper bound, where none was found.
var mostOfNone = gammaQuantile(1, highTail)

// bound fills in the bounds of a part of particles that each add grain, the
// Poisson counterpart of Clopper-Pearson. The
// step widens the scatter: as if there were fewer, larger particles.
func (p *part) bound(grain float64, sides bounding) {
	if p.value <= 0 {
		if sides&upper != 0 {
			p.high = mostOfNone*grain + math.Sqrt(3*p.step)
		}
		return
	}
	grain += p.step / p.value
	n := p.value / grain
	if sides&lower != 0 {
		p.low = gammaQuantile(n, lowTail) * grain
	}
	if sides&upper != 0 {
		p.high = gammaQuantile(n+1, highTail) * grain
	}
}

// evenPart is a part that scatters to both sides alike.
func evenPart(value, variance, step float64) part {
	reach := reach95 * math.Sqrt(variance+step)
	return part{value: value, low: value - reach, high: value + reach, mean: value, variance: variance, step: step, even: true}
}

// part turns a whole belief into a part of a sum.
func (b *belief) part(value float64) part {
	return part{value: value, low: b.low, high: b.high, mean: b.mean, variance: b.variance, even: b.family == normalLike}
}

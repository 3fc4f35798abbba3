package chance_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"threshline/grading"
	"threshline/grading/chance"
)

// The simulation draws lots whose composition is known, draws a sample of each
// as a person would, grades the sample, and looks whether the lot is what the
// chances said. It builds its samples from particles of scattered weight, not
// from the model's own formulas.
const simulationSeed = 20261125

// lotOf is a lot of known composition: weight shares and shares of grains.
type lotOf struct {
	moisture, chaff, stones, immature float64
	pest, discoloured, red, other     float64
}

// crop is a population of lots.
type crop struct {
	name  string
	draw  func(*rand.Rand) lotOf
	usual map[grading.Field]chance.Usual // nil: nothing is known of it
}

// spread is how a share lies over the lots of a crop: gamma with that mean and
// shape.
type spread struct{ mean, shape float64 }

func (s spread) draw(r *rand.Rand) float64 { return s.mean * gammaDraw(r, s.shape) / s.shape }

func (s spread) usual() chance.Usual {
	return chance.Usual{Mean: 100 * s.mean, Deviation: 100 * s.mean / math.Sqrt(s.shape)}
}

// season is a crop whose shares are gamma, in the order of lotOf. The shares
// are invented; the crops cover all four grades and out of grade.
func season(name string, moisture, deviation float64, shares [7]spread) crop {
	c := crop{name: name, usual: map[grading.Field]chance.Usual{
		grading.Moisture: {Mean: moisture, Deviation: deviation},
	}}
	for i, f := range []grading.Field{grading.Chaff, grading.Stones, grading.ImmatureWeight,
		grading.PestDamaged, grading.Discoloured, grading.Red, grading.OtherVariety} {
		c.usual[f] = shares[i].usual()
	}
	c.draw = func(r *rand.Rand) lotOf {
		var x [7]float64
		for i, s := range shares {
			x[i] = s.draw(r)
		}
		return lotOf{moisture + deviation*r.NormFloat64(), x[0], x[1], x[2], x[3], x[4], x[5], x[6]}
	}
	return c
}

func cleanSeason() crop {
	return season("clean season", 13.2, 0.6, [7]spread{{0.008, 1.5}, {0.002, 1}, {0.006, 1.5}, {0.003, 1}, {0.005, 1}, {0.02, 1}, {0.015, 1}})
}

func roughSeason() crop {
	return season("rough season", 14, 0.9, [7]spread{{0.03, 2}, {0.008, 1}, {0.02, 2}, {0.012, 1.5}, {0.02, 1.5}, {0.06, 1.5}, {0.04, 1}})
}

// evenSpread is a crop in which every share up to a bound is as likely.
func evenSpread() crop {
	return crop{name: "even spread", draw: func(r *rand.Rand) lotOf {
		return lotOf{12 + 3*r.Float64(), 0.05 * r.Float64(), 0.01 * r.Float64(), 0.03 * r.Float64(),
			0.02 * r.Float64(), 0.03 * r.Float64(), 0.15 * r.Float64(), 0.08 * r.Float64()}
	}}
}

// gammaDraw draws from a gamma of that shape (1 or more) and scale 1, by the
// method of Marsaglia and Tsang.
func gammaDraw(r *rand.Rand, shape float64) float64 {
	d := shape - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		x := r.NormFloat64()
		v := 1 + c*x
		if v <= 0 {
			continue
		}
		v = v * v * v
		if math.Log(r.Float64()) < x*x/2+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}

// kit is how a sample is taken and weighed.
type kit struct {
	grams, step float64
	grains      int
	readings    int
}

// sampleOf draws a sample of the lot and measures it with the kit.
func sampleOf(r *rand.Rand, l lotOf, k kit) grading.Readings {
	out := grading.Readings{Meter: grading.Meter{Checked: true}}
	c := chance.DefaultCertainty()
	for range k.readings {
		out.Repeats = append(out.Repeats, decimalOf(l.moisture+c.MeterRepeatability*r.NormFloat64(), 0.1))
	}
	weigh := func(f grading.Field, grams float64) { out.Set(f, decimalOf(grams, k.step)) }
	weigh(grading.SampleWeight, k.grams)
	weigh(grading.Chaff, particles(r, k.grams*l.chaff, c.SpeckWeight))
	weigh(grading.Stones, particles(r, k.grams*l.stones, c.StoneWeight))
	brown := 0.79 * k.grams
	weigh(grading.BrownWeight, brown)
	weigh(grading.ImmatureWeight, math.Min(particles(r, brown*l.immature, c.HuskedWeight), brown))
	out.Set(grading.Counted, grading.NewDecimal(k.grains))
	left := 1.0
	remaining := k.grains
	for _, p := range []struct {
		f     grading.Field
		share float64
	}{{grading.PestDamaged, l.pest}, {grading.Discoloured, l.discoloured}, {grading.Red, l.red}, {grading.OtherVariety, l.other}} {
		n := 0
		for range remaining {
			if r.Float64() < p.share/left {
				n++
			}
		}
		left -= p.share
		remaining -= n
		out.Set(p.f, grading.NewDecimal(n))
	}
	return out
}

// particles draws the weight of a fraction that is grams on average, of
// particles whose weights scatter by half their mean and whose mass-weighted
// mean is heavy. The weights of n particles of gamma shape sum to a gamma of n
// times the shape.
func particles(r *rand.Rand, grams, heavy float64) float64 {
	const shape = 4
	mean, n := heavy/(1+1.0/shape), 0
	for t := r.ExpFloat64(); t < grams/mean; t += r.ExpFloat64() {
		n++
	}
	if n == 0 {
		return 0
	}
	return mean / shape * gammaDraw(r, float64(n*shape))
}

func decimalOf(x, step float64) grading.Decimal {
	return grading.Decimal(math.Round(math.Round(x/step) * step * float64(grading.One)))
}

// truth is the lot's own grade: the ladder applied to its composition.
func truth(t testing.TB, exact *grading.Evaluator, l lotOf, res *grading.Result) {
	t.Helper()
	ten := func(share float64) grading.Decimal { return grading.Decimal(math.Round(share * 1e6)) }
	var r grading.Readings
	r.Values = map[grading.ParameterID]grading.Decimal{
		"foreign_matter":             ten(l.chaff + l.stones),
		"admixture":                  ten(l.red + l.other),
		"damaged_immature_weevilled": ten(l.immature + l.pest + l.discoloured),
		"moisture":                   ten(l.moisture / 100),
	}
	if err := exact.Grade(&r, res); err != nil {
		t.Fatal(err)
	}
}

package chance

import (
	"math"

	"threshline/grading"
)

// fewestLots is how many lots must have a field before we can say what is
// usual: the deviation between lots is then known to about a ninth.
const fewestLots = 40

// narrowestUsual is the least deviation between lots, as a share of the mean,
// that is believed: lots that look all alike are not taken to be so. Source:
// assumed.
const narrowestUsual = 0.25

// UsualOf learns what lots usually hold from checks of one place and season, a
// programme's own ledger, for Certainty.Usual: the mean over lots, and the
// deviation between them, which is what the readings scatter less what the
// sample alone would make them scatter. A field that fewer than fewestLots lots
// have, or that none of them holds any of, is left out.
func UsualOf(lots []grading.Readings, c Certainty) map[grading.Field]Usual {
	c = c.OrDefault()
	out := make(map[grading.Field]Usual)
	for _, f := range grading.Fields() {
		if !f.Learnt() {
			continue
		}
		var n, sum, squares, sampling float64
		for i := range lots {
			value, variance, ok := c.measured(&lots[i], f)
			if !ok {
				continue
			}
			n++
			sum += value
			squares += value * value
			sampling += variance
		}
		if n < fewestLots || sum <= 0 {
			continue
		}
		mean := sum / n
		between := (squares-n*mean*mean)/(n-1) - sampling/n
		least := narrowestUsual * mean
		if f == grading.Moisture {
			least = c.MeterRepeatability
		}
		out[f] = Usual{Mean: mean, Deviation: math.Sqrt(max(between, least*least))}
	}
	return out
}

// measured is a field's share of its whole, %, and the variance that sampling
// alone gives it.
func (c *Certainty) measured(r *grading.Readings, f grading.Field) (value, variance float64, ok bool) {
	if f == grading.Moisture {
		n := float64(len(r.Repeats))
		if n == 0 {
			return 0, 0, false
		}
		return r.MeanMoisture().Float(), c.MeterRepeatability * c.MeterRepeatability / n, true
	}
	part, have := r.Get(f)
	whole, ok := r.Get(f.Of())
	if !have || !ok || whole <= 0 || part > whole {
		return 0, 0, false
	}
	share := part.Float() / whole.Float()
	grain := 1.0
	if f.Kind() == grading.WeightField {
		grain = c.speck(f)
	}
	return 100 * share, 1e4 * share * (1 - share) * grain / whole.Float(), true
}

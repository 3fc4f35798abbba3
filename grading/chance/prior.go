package chance

import (
	"math"
	"slices"

	"threshline/grading"
)

// Usual is what the lots of a place and season usually hold: the mean of a
// field over lots and its deviation from lot to lot, in percent of the field's
// whole (moisture: % wet basis). Both must be over 0.
type Usual struct{ Mean, Deviation float64 }

// kindOfLots is what lots of one family usually hold, by field; a field without a
// mean is not known.
type kindOfLots [grading.FieldEnd]Usual

// cleanLots and roughLots are the two families that a lot of an unknown season
// may be of: well grown and cleaned, or neither. Source: assumed; the
// deviation is that of lots of which many hold little and few much. Moisture is that
// of paddy offered as dry; far from it a meter's own reading outweighs it.
var (
	cleanLots = kindOfLots{
		grading.Moisture: {13.3, 0.7},
		grading.Chaff:    {0.8, 0.75}, grading.Stones: {0.2, 0.27}, grading.ImmatureWeight: {0.6, 0.6},
		grading.PestDamaged: {0.3, 0.5}, grading.Discoloured: {0.5, 0.75}, grading.Red: {2, 2.4}, grading.OtherVariety: {1.5, 2},
	}
	roughLots = kindOfLots{
		grading.Moisture: {14, 1.2},
		grading.Chaff:    {3, 2.5}, grading.Stones: {0.8, 1}, grading.ImmatureWeight: {2, 1.8},
		grading.PestDamaged: {1.2, 1.6}, grading.Discoloured: {2, 2.5}, grading.Red: {6, 6}, grading.OtherVariety: {4, 5},
	}
)

// familiesOf are the families that lots are taken to be of: the assumed two, with
// what is known of the season in place of what is assumed; or of none.
func familiesOf(c *Certainty) [families]kindOfLots {
	if c.Alone {
		return [families]kindOfLots{}
	}
	out := [families]kindOfLots{cleanLots, roughLots}
	for f, u := range c.Usual {
		for i := range out {
			out[i][f] = u
		}
	}
	return out
}

// families is how many there are.
const families = 2

// Families is what lots usually hold, by field, in each family that a lot of an
// unknown season may be of: the clean one, then the rough one. What was learnt
// replaces what is assumed, in both.
func Families(learnt map[grading.Field]Usual) (out [families]map[grading.Field]Usual) {
	for k, kind := range familiesOf(&Certainty{Usual: learnt}) {
		out[k] = make(map[grading.Field]Usual)
		for f, u := range kind {
			if u.Mean > 0 {
				out[k][grading.Field(f)] = u
			}
		}
	}
	return out
}

// FamilyWeights is how likely each family is for a lot that each foretells with
// such a log likelihood, heeded that strongly (1 is in full).
func FamilyWeights(log [families]float64, heeded float64) [families]float64 {
	clean := 1 / (1 + math.Exp(heeded*(log[1]-log[0])))
	return [families]float64{clean, 1 - clean}
}

// ignorance is added to the faulty grains or specks, and in counts also to the
// sound grains, when nothing is known of the lots: a third of a grain or speck.
// It favours neither side: a reading right at a limit then leaves even odds,
// where a half or a whole would lean toward the fault. Source: assumed; tests
// show both properties.
const ignorance = 1.0 / 3

// betaPrior is the belief in the share of grains with any of the faults
// before the pan is counted, as added grains: faulty and sound.
func (k *kindOfLots) betaPrior(fields []grading.Field) (faulty, sound float64) {
	mean, variance := 0.0, 0.0
	for _, f := range fields {
		u := k[f]
		if u.Mean == 0 {
			return ignorance, ignorance
		}
		mean += u.Mean / 100
		variance += u.Deviation * u.Deviation / 1e4
	}
	weight := mean*(1-mean)/variance - 1
	if !(weight > 0) || mean >= 1 {
		return ignorance, ignorance
	}
	return mean * weight, (1 - mean) * weight
}

// gammaPrior is the belief in the number of particles in a sample before it is
// sieved: particles added, and samples added, unit being what one particle is
// in percent.
func (k *kindOfLots) gammaPrior(f grading.Field, unit float64) (particles, samples float64) {
	u := k[f]
	if u.Mean == 0 {
		return ignorance, 0
	}
	shape := u.Mean * u.Mean / (u.Deviation * u.Deviation)
	return shape, shape * unit / u.Mean
}

// normalPrior shifts a mean of that variance toward what is usual.
func (k *kindOfLots) normalPrior(f grading.Field, mean, variance float64) (float64, float64) {
	u := k[f]
	if u.Mean == 0 || variance <= 0 {
		return mean, variance
	}
	known, seen := 1/(u.Deviation*u.Deviation), 1/variance
	return (u.Mean*known + mean*seen) / (known + seen), 1 / (known + seen)
}

// weigh gives each family its weight by how well it foretells the lot's own
// readings: of weights by the negative binomial, of the pan by the beta-binomial.
// The last lot's weights are kept, since a lot is mostly assessed, then tried.
func (a *Assessor) weigh(r *grading.Readings) {
	if a.count == 1 || a.weighedBy.same(r) {
		return
	}
	var log [families]float64
	for i, f := range weighing {
		part, whole := a.weighedBy[i].part, a.weighedBy[i].whole
		if part == absent || whole <= 0 || a.kinds[0][f] == a.kinds[1][f] {
			continue
		}
		for k := range log {
			if f.Kind() == grading.WeightField {
				unit := a.c.speck(f) * 100 / whole.Float()
				unit, n := a.apart(unit, part.Float()/a.c.speck(f))
				shape, samples := a.kinds[k].gammaPrior(f, unit)
				log[k] += lgamma(n+shape) - a.foretold[k][i] + shape*math.Log(samples/(1+samples)) - n*math.Log1p(samples)
			} else {
				log[k] += a.panForetold(k, i)
			}
		}
	}
	a.weights = FamilyWeights(log, heed)
}

// pan is grains of one fault that were counted, by its place in weighing.
type pan struct {
	k, i        int
	part, whole grading.Decimal
}

// panForetold is how well kind k foretells the i-th reading, of a pan; remembered, since
// pans are of few sizes.
func (a *Assessor) panForetold(k, i int) float64 {
	key := pan{k, i, a.weighedBy[i].part, a.weighedBy[i].whole}
	if known, ok := a.panLog[key]; ok {
		return known
	}
	x, n := a.apartOf(key.part.Float(), key.whole.Float())
	faulty, sound := a.kinds[k].betaPrior(weighing[i : i+1])
	log := lbeta(x+faulty, n-x+sound) - a.foretold[k][i]
	if len(a.panLog) < mostBounds {
		a.panLog[key] = log
	}
	return log
}

// weighed are the readings that a lot's families were weighed by, absent where not
// measured.
type weighed []struct{ part, whole grading.Decimal }

// same takes over a lot's readings and reports whether they are as they were.
func (w weighed) same(r *grading.Readings) bool {
	same := true
	for i, f := range weighing {
		part, whole := numberOr(r, f), numberOr(r, f.Of())
		same = same && w[i].part == part && w[i].whole == whole
		w[i].part, w[i].whole = part, whole
	}
	return same
}

// foretelling is what weighing leaves the same from lot to lot: the logarithm of the
// gamma or beta function of each field's prior.
func (k *kindOfLots) foretelling() []float64 {
	out := make([]float64, len(weighing))
	for i, f := range weighing {
		if f.Kind() == grading.WeightField {
			shape, _ := k.gammaPrior(f, 1)
			out[i] = lgamma(shape)
		} else {
			out[i] = lbeta(k.betaPrior(weighing[i : i+1]))
		}
	}
	return out
}

func lbeta(a, b float64) float64 { return lgamma(a) + lgamma(b) - lgamma(a+b) }

// heed is how strongly the readings choose between the families: a lot that is
// clean in one thing is less surely clean in the next than if all lots were of
// one family. Source: assumed.
const heed = 0.5

// weighing are the readings by which families are told apart.
var weighing = slices.DeleteFunc(grading.Fields(), func(f grading.Field) bool {
	return !f.Learnt() || f.Kind() == grading.PercentField || cleanLots[f].Mean == 0
})

// apart makes n particles, of unit each, the fewer and larger ones that scatter as
// widely as particles do which are strewn over bags that differ.
func (w *believer) apart(unit, n float64) (larger, fewer float64) {
	if w.c.Alone {
		return unit, n
	}
	wider := 1 + w.c.BagDeviation*w.c.BagDeviation*n
	return unit * wider, n / wider
}

// apartOf is apart for x grains of n.
func (w *believer) apartOf(x, n float64) (fewer, of float64) {
	if w.c.Alone {
		return x, n
	}
	wider := 1 + w.c.BagDeviation*w.c.BagDeviation*x*(1-x/n)
	return x / wider, n / wider
}

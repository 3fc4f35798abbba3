package chance

import (
	"math"

	"threshline/grading"
)

// believe builds the belief in one measured parameter's value in the lot.
func (a *Assessor) believe(r *grading.Readings, p *grading.Parameter, v *grading.ParameterResult) belief {
	if v.Direct {
		return a.given(r, p, v.Value.Float())
	}
	if len(p.Terms) == 1 && p.Constant == 0 && !p.Terms[0].Negative {
		t := &p.Terms[0]
		switch t.Kind {
		case grading.CountShare:
			if n, ok := r.Get(t.Over); ok && n > 0 {
				return a.pan(r, t.Fields, n.Float())
			}
		case grading.MeanOf:
			return a.meter(len(r.Repeats), v.Value.Float(), a.offBy(r))
		}
	}
	return a.summed(r, p)
}

// given is the belief in a value that came without its sample.
func (a *Assessor) given(r *grading.Readings, p *grading.Parameter, value float64) belief {
	switch p.Unit {
	case grading.PercentWeight:
		n := a.c.LabPortion / a.c.GrainWeight
		return a.share(value/100*n, n, value/100*n+ignorance, n-value/100*n+ignorance)
	case grading.PercentCount:
		n := a.c.LabCount
		if counted, ok := r.Get(grading.Counted); ok && counted > 0 {
			n = counted.Float()
		}
		return a.share(value/100*n, n, value/100*n+ignorance, n-value/100*n+ignorance)
	case grading.PercentWet:
		return normalBelief(value, a.c.MeterRepeatability)
	case grading.CountPer500g, grading.CountPerKg, grading.CountInSample:
		var one sum
		one.join(a.counted(value, 1))
		return one.belief()
	}
	return belief{}
}

// offBy is how far the lot's meter may still be wrong, as a standard deviation.
func (a *Assessor) offBy(r *grading.Readings) float64 {
	switch {
	case r.Meter.Checked:
		return r.Meter.Doubt.Float()
	case a.c.Alone:
		return 0 // two samples of a lot are read on one meter
	}
	return a.c.MeterDoubt
}

// meter is the belief in moisture after n readings of a meter that may be off.
func (a *Assessor) meter(n int, mean, off float64) belief {
	variance := a.c.MeterRepeatability*a.c.MeterRepeatability/float64(max(n, 1)) + off*off
	b := normalBelief(mean, math.Sqrt(variance))
	b.a, b.variance = a.kinds[a.kind].normalPrior(grading.Moisture, mean, variance)
	b.b, b.mean = math.Sqrt(b.variance), b.a
	return b
}

// pan is the belief in the share of grains with any of the faults.
func (a *Assessor) pan(r *grading.Readings, fields []grading.Field, n float64) belief {
	faulty, sound := a.kinds[a.kind].betaPrior(fields)
	x := sumFields(r, fields)
	fewer, of := a.apartOf(x, n)
	return a.share(x, n, fewer+faulty, of-fewer+sound)
}

// share is the belief, in percent, in a share of which x of n (whole or not)
// were seen, beta of so many faulty and sound grains, those of the prior among
// them. The bounds are Clopper-Pearson.
func (a *Assessor) share(x, n, faulty, sound float64) belief {
	x = min(max(x, 0), n)
	b := belief{family: betaLike, a: faulty, b: sound, sign: 1}
	mean := b.a / (b.a + b.b)
	b.mean, b.variance = 100*mean, 1e4*mean*(1-mean)/(b.a+b.b+1)
	switch a.bounding {
	case lower | upper:
		low, high := a.bounds(x, n)
		b.low, b.high = 100*low, 100*high
	case lower:
		b.low = 100 * shareLow(x, n, Level)
	case upper:
		b.high = 100 * shareHigh(x, n, Level)
	}
	return b
}

// mostBounds is how many Clopper-Pearson bounds an assessor remembers: all of
// a few sizes of pan.
const mostBounds = 1 << 12

// bounds is shareInterval at Level, remembered: pans are of few sizes.
func (a *Assessor) bounds(x, n float64) (low, high float64) {
	key := [2]float64{x, n}
	if known, ok := a.known[key]; ok {
		return known[0], known[1]
	}
	low, high = shareInterval(x, n, Level)
	if len(a.known) < mostBounds && x == math.Trunc(x) {
		a.known[key] = [2]float64{low, high}
	}
	return low, high
}

// summed is the belief in a parameter made of several terms, or of weights.
// Where all are taken off (a complement) the belief is that of the sum,
// mirrored; where some are, the moments are taken as normal.
func (a *Assessor) summed(r *grading.Readings, p *grading.Parameter) belief {
	var plus, minus sum
	for i := range p.Terms {
		t, side := &p.Terms[i], &plus
		if t.Negative {
			side = &minus
		}
		if !a.add(side, r, p, t, 0) && !t.IfKnown {
			return belief{}
		}
	}
	shift := p.Constant.Float()
	switch {
	case plus.parts > 0 && minus.parts > 0:
		variance := plus.variance + plus.step + minus.variance + minus.step
		return normalBelief(shift+plus.value-minus.value, math.Sqrt(variance))
	case minus.parts > 0 && minus.mean > 0:
		b := minus.belief()
		b.shift, b.sign = shift, -1
		b.low, b.high = shift-b.high, shift-b.low
		return b
	case plus.parts > 0 && plus.mean > 0:
		b := plus.belief()
		b.shift = shift
		b.low, b.high = b.low+shift, b.high+shift
		return b
	}
	return belief{}
}

// maxDepth ends a chain of parameters made of parameters.
const maxDepth = 4

// add joins one term, in percent or in numbers, to the sum. It says whether
// the term could be had.
func (a *Assessor) add(to *sum, r *grading.Readings, p *grading.Parameter, t *grading.Term, depth int) bool {
	whole, ok := r.Get(t.Over)
	if t.Over != grading.NoField && (!ok || whole <= 0) {
		return false
	}
	seen := sumFields(r, t.Fields)
	switch t.Kind {
	case grading.CountShare:
		b := a.pan(r, t.Fields, whole.Float())
		to.join(b.part(100 * seen / whole.Float()))
	case grading.MeanOf:
		b := a.meter(len(r.Repeats), r.MeanMoisture().Float(), a.offBy(r))
		to.join(b.part(b.mean))
	case grading.CountOf:
		to.join(a.counted(seen, 1))
	case grading.CountPer:
		to.join(a.counted(seen, p.Unit.Weight().Float()/whole.Float()))
	case grading.WeightShare:
		for _, f := range t.Fields {
			if m, ok := r.Get(f); ok {
				to.join(a.weight(f, m.Float(), whole.Float()))
			}
		}
	case grading.ValueOf:
		var other sum
		factor, ok := t.Factor(r)
		if !ok || !a.addParameter(&other, r, t.Parameter, depth) {
			return false
		}
		to.joinAll(&other, factor.Float())
	}
	return true
}

func (a *Assessor) addParameter(to *sum, r *grading.Readings, id grading.ParameterID, depth int) bool {
	p := a.s.Parameter(id)
	if p == nil || depth >= maxDepth {
		return false
	}
	if v, ok := r.Values[id]; ok {
		b := a.given(r, p, v.Float())
		to.join(b.part(v.Float()))
		return b.family != unknown
	}
	for i := range p.Terms {
		if p.Terms[i].Negative || !a.add(to, r, p, &p.Terms[i], depth+1) {
			return false
		}
	}
	return p.Constant == 0
}

// weight is one fraction of m g in a whole of that many g, in percent: particles
// of one weight, strewn at random through the lot, so that their number in the
// sample is binomial (all but Poisson when rare); weighed to the step.
func (a *Assessor) weight(f grading.Field, m, whole float64) part {
	perGram := 100 / whole
	low, high := max(m-a.c.ScaleStep/2, 0), m+a.c.ScaleStep/2
	step := (high - low) * (high - low) / 12 * perGram * perGram
	m = min((low+high)/2, whole)
	share := m / whole
	switch f {
	case grading.BrownWeight: // varies as the husking itself
		return evenPart(100*share, a.c.YieldDeviation*a.c.YieldDeviation, step)
	case grading.CleanWeight: // varies as what was taken out
		return evenPart(100*share, 1e4*share*(1-share)*max(a.c.SpeckWeight, a.c.StoneWeight)/whole+rounding, step)
	}
	unit := a.c.speck(f) * perGram
	thin := max(1-share, 1e-6)
	larger, fewer := a.apart(unit, m/a.c.speck(f))
	added, samples := a.kinds[a.kind].gammaPrior(f, larger)
	p := a.particles(fewer, larger, thin, step, added, samples)
	p.bound(unit*thin, a.bounding)
	return p
}

// counted is a number of seeds, insects or specks that each add unit.
func (a *Assessor) counted(number, unit float64) part {
	p := a.particles(number, unit, 1, 0, ignorance, 0)
	p.bound(unit, a.bounding)
	return p
}

func sumFields(r *grading.Readings, fields []grading.Field) float64 {
	total := grading.Decimal(0)
	for _, f := range fields {
		if d, ok := r.Get(f); ok {
			total += d
		}
	}
	return total.Float()
}

package chance

import (
	"math"

	"threshline/grading"
)

// believe builds the belief in one measured parameter's value in the lot.
func (w *believer) believe(r *grading.Readings, p *grading.Parameter, v *grading.ParameterResult) belief {
	if v.Direct {
		return w.given(r, p, v.Value.Float())
	}
	if len(p.Terms) == 1 && p.Constant == 0 && !p.Terms[0].Negative {
		t := &p.Terms[0]
		switch t.Kind {
		case grading.CountShare:
			if n, ok := r.Get(t.Over); ok && n > 0 {
				return w.pan(r, t.Fields, n.Float())
			}
		case grading.MeanOf:
			return w.meter(len(r.Repeats), v.Value.Float(), w.offBy(r))
		}
	}
	return w.summed(r, p)
}

// given is the belief in a value that came without its sample.
func (w *believer) given(r *grading.Readings, p *grading.Parameter, value float64) belief {
	switch p.Unit {
	case grading.PercentWeight:
		n := w.c.LabPortion / w.c.GrainWeight
		return w.share(value/100*n, n, value/100*n+ignorance, n-value/100*n+ignorance)
	case grading.PercentCount:
		n := w.c.LabCount
		if counted, ok := r.Get(grading.Counted); ok && counted > 0 {
			n = counted.Float()
		}
		return w.share(value/100*n, n, value/100*n+ignorance, n-value/100*n+ignorance)
	case grading.PercentWet:
		return normalBelief(value, w.c.MeterRepeatability)
	case grading.CountPer500g, grading.CountPerKg, grading.CountInSample:
		var one sum
		one.join(w.counted(value, 1))
		return one.belief()
	}
	return belief{}
}

// offBy is how far the lot's meter may still be wrong, as a standard deviation.
func (w *believer) offBy(r *grading.Readings) float64 {
	switch {
	case r.Meter.Checked:
		return r.Meter.Doubt.Float()
	case w.c.Alone:
		return 0 // two samples of w lot are read on one meter
	}
	return w.c.MeterDoubt
}

// meter is the belief in moisture after n readings of a meter that may be off.
func (w *believer) meter(n int, mean, off float64) belief {
	variance := w.c.MeterRepeatability*w.c.MeterRepeatability/float64(max(n, 1)) + off*off
	b := normalBelief(mean, math.Sqrt(variance))
	b.a, b.variance = w.kinds[w.kind].normalPrior(grading.Moisture, mean, variance)
	b.b, b.mean = math.Sqrt(b.variance), b.a
	return b
}

// pan is the belief in the share of grains with any of the faults.
func (w *believer) pan(r *grading.Readings, fields []grading.Field, n float64) belief {
	faulty, sound := w.kinds[w.kind].betaPrior(fields)
	x := sumFields(r, fields)
	fewer, of := w.apartOf(x, n)
	return w.share(x, n, fewer+faulty, of-fewer+sound)
}

// share is the belief, in percent, in a share of which x of n (whole or not)
// were seen, beta of so many faulty and sound grains, those of the prior among
// them. The bounds are Clopper-Pearson.
func (w *believer) share(x, n, faulty, sound float64) belief {
	x = min(max(x, 0), n)
	b := belief{family: betaLike, a: faulty, b: sound, sign: 1}
	mean := b.a / (b.a + b.b)
	b.mean, b.variance = 100*mean, 1e4*mean*(1-mean)/(b.a+b.b+1)
	switch w.bounding {
	case lower | upper:
		low, high := w.bounds(x, n)
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
func (w *believer) bounds(x, n float64) (low, high float64) {
	key := [2]float64{x, n}
	if known, ok := w.known[key]; ok {
		return known[0], known[1]
	}
	low, high = shareInterval(x, n, Level)
	if len(w.known) < mostBounds && x == math.Trunc(x) {
		w.known[key] = [2]float64{low, high}
	}
	return low, high
}

// summed is the belief in a parameter made of several terms, or of weights.
// Where all are taken off (a complement) the belief is that of the sum,
// mirrored; where some are, the moments are taken as normal.
func (w *believer) summed(r *grading.Readings, p *grading.Parameter) belief {
	var plus, minus sum
	for i := range p.Terms {
		t, side := &p.Terms[i], &plus
		if t.Negative {
			side = &minus
		}
		if !w.add(side, r, p, t, 0) && !t.IfKnown {
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
func (w *believer) add(to *sum, r *grading.Readings, p *grading.Parameter, t *grading.Term, depth int) bool {
	whole, ok := r.Get(t.Over)
	if t.Over != grading.NoField && (!ok || whole <= 0) {
		return false
	}
	seen := sumFields(r, t.Fields)
	switch t.Kind {
	case grading.CountShare:
		b := w.pan(r, t.Fields, whole.Float())
		to.join(b.part(100 * seen / whole.Float()))
	case grading.MeanOf:
		b := w.meter(len(r.Repeats), r.MeanMoisture().Float(), w.offBy(r))
		to.join(b.part(b.mean))
	case grading.CountOf:
		to.join(w.counted(seen, 1))
	case grading.CountPer:
		to.join(w.counted(seen, p.Unit.Weight().Float()/whole.Float()))
	case grading.WeightShare:
		for _, f := range t.Fields {
			if m, ok := r.Get(f); ok {
				to.join(w.weight(f, m.Float(), whole.Float()))
			}
		}
	case grading.ValueOf:
		var other sum
		factor, ok := t.Factor(r)
		if !ok || !w.addParameter(&other, r, t.Parameter, depth) {
			return false
		}
		to.joinAll(&other, factor.Float())
	}
	return true
}

func (w *believer) addParameter(to *sum, r *grading.Readings, id grading.ParameterID, depth int) bool {
	p := w.s.Parameter(id)
	if p == nil || depth >= maxDepth {
		return false
	}
	if v, ok := r.Values[id]; ok {
		b := w.given(r, p, v.Float())
		to.join(b.part(v.Float()))
		return b.family != unknown
	}
	for i := range p.Terms {
		if p.Terms[i].Negative || !w.add(to, r, p, &p.Terms[i], depth+1) {
			return false
		}
	}
	return p.Constant == 0
}

// weight is one fraction of m g in a whole of that many g, in percent: particles
// of one weight, strewn at random through the lot, so that their number in the
// sample is binomial (all but Poisson when rare); weighed to the step.
func (w *believer) weight(f grading.Field, m, whole float64) part {
	perGram := 100 / whole
	low, high := max(m-w.c.ScaleStep/2, 0), m+w.c.ScaleStep/2
	step := (high - low) * (high - low) / 12 * perGram * perGram
	m = min((low+high)/2, whole)
	share := m / whole
	switch f {
	case grading.BrownWeight: // varies as the husking itself
		return evenPart(100*share, w.c.YieldDeviation*w.c.YieldDeviation, step)
	case grading.CleanWeight: // varies as what was taken out
		return evenPart(100*share, 1e4*share*(1-share)*max(w.c.SpeckWeight, w.c.StoneWeight)/whole+grading.Rounding, step)
	}
	unit := w.c.speck(f) * perGram
	thin := max(1-share, 1e-6)
	larger, fewer := w.apart(unit, m/w.c.speck(f))
	added, samples := w.kinds[w.kind].gammaPrior(f, larger)
	p := w.particles(fewer, larger, thin, step, added, samples)
	p.bound(unit*thin, w.bounding)
	return p
}

// counted is a number of seeds, insects or specks that each add unit.
func (w *believer) counted(number, unit float64) part {
	p := w.particles(number, unit, 1, 0, ignorance, 0)
	p.bound(unit, w.bounding)
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

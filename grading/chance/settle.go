package chance

import (
	"math"
	"slices"

	"threshline/grading"
)

// How much more sample it is worth asking for. Source: assumed. Beyond these
// the lot lies too near to the limit to be told by hand.
const (
	// sieveGrams is the step in which more sample is asked for, g.
	sieveGrams = 10
	// MostGrams is the most that Settle asks to sieve and pick in all, g.
	MostGrams = 2000
	// MostReadings is the most moisture readings that Settle asks for in all.
	MostReadings = 12
	// MostMinutes is the longest that SettleUp asks to measure.
	MostMinutes = 120
)

// What a measurement takes, minutes. Source: assumed; only how they compare
// matters.
const (
	minutesPerPan     = 10.0 // of PanGrains
	minutesPerSieving = 10.0 // of sievedAtOnce
	minutesPerReading = 2.0
	minutesPerMeter   = 15.0 // to put a meter beside a reference
	sievedAtOnce      = 100  // g
)

// settle finds, of the measurements that would bring a doubtful parameter's bounds
// clear of the limit were its value to stay what it is, the one that takes the
// most doubt away for each of its minutes: more grains, more grams, more
// readings, or the meter beside a reference; and likewise of what holds the lot
// down alone. Each stays nil when none within reason would.
func (a *Assessor) settle() {
	if !a.res.Borderline {
		return
	}
	best, bestUp := 0.0, 0.0
	var settle, settleUp grading.Settle
	for i := range a.res.Parameters {
		n := a.doubtful(i)
		doubts, needs := [2]float64{}, [2]grading.Settle{}
		for k, limit := range [...]*grading.Decimal{n.under, n.over} {
			if limit != nil {
				under := a.under(i, limit.Float())
				doubts[k], needs[k] = min(under, 1-under), a.enough(n.v, limit.Float())
			}
		}
		doubt := max(doubts[0], doubts[1])
		if doubt == 0 {
			continue
		}
		if one := a.orMeter(i, n.clear(needs)); one.Minutes > 0 && doubt/one.Minutes > best {
			best, settle = doubt/one.Minutes, one
		}
		up := a.better(&n)
		for k, limit := range [...]*grading.Decimal{n.under, n.over} {
			if limit == nil || up == nil || *limit != *up {
				continue
			}
			if one := a.orMeter(i, needs[k]); one.Minutes > 0 && one.Minutes <= MostMinutes && doubts[k]/one.Minutes > bestUp {
				bestUp, settleUp = doubts[k]/one.Minutes, one
			}
		}
	}
	if best > 0 {
		a.res.Settle = &settle
	}
	if bestUp > 0 {
		a.res.SettleUp = &settleUp
	}
}

// better is the limit that a parameter which holds the lot down has to meet for a
// better grade; nil for others.
func (a *Assessor) better(n *nearest) *grading.Decimal {
	switch v := n.v; {
	case v.Rank <= 1 || !slices.Contains(a.res.Deciding, v.ID):
		return nil
	case v.Next == nil || v.Rank > a.res.Of:
		return v.Limit
	default:
		return v.Next
	}
}

// orMeter is what settles parameter i, with its minutes: the sample, or else the
// meter where that is what nobody checked; the zero Settle for nothing.
func (a *Assessor) orMeter(i int, one grading.Settle) grading.Settle {
	if one.Parameter == "" && a.meterInDoubt(i) {
		one = grading.Settle{Parameter: a.res.Parameters[i].ID, CheckMeter: true}
	}
	if one.Parameter != "" {
		one.Minutes = a.minutes(&one)
	}
	return one
}

// meterInDoubt reports whether parameter i was read on a meter that nobody
// checked.
func (a *Assessor) meterInDoubt(i int) bool {
	p := &a.s.Parameters[i]
	return len(p.Terms) == 1 && p.Terms[0].Kind == grading.MeanOf && !a.res.Parameters[i].Direct && a.offBy(a.r) > 0 && !a.r.Meter.Checked
}

// minutes is what a measurement takes beside what was measured already.
func (a *Assessor) minutes(s *grading.Settle) float64 {
	if s.CheckMeter {
		return minutesPerMeter
	}
	more := s.Beside(a.r)
	return max(float64(more.Grains)/grading.PanGrains*minutesPerPan+more.Grams.Float()/sievedAtOnce*minutesPerSieving+
		float64(more.Repeats)*minutesPerReading, minutesPerReading)
}

// clear is what brings the parameter clear of both its limits: the larger of what
// each needs, the zero Settle when one of them cannot be had.
func (n *nearest) clear(needs [2]grading.Settle) (out grading.Settle) {
	for k, limit := range [...]*grading.Decimal{n.under, n.over} {
		switch one := &needs[k]; {
		case limit == nil:
		case one.Parameter == "":
			return *one
		case out.Parameter == "":
			out = *one
		default:
			out.Grains, out.Grams, out.Repeats = max(out.Grains, one.Grains), max(out.Grams, one.Grams), max(out.Repeats, one.Repeats)
		}
	}
	return out
}

// enough computes the Settle of one parameter; the zero Settle when nothing would do.
func (a *Assessor) enough(v *grading.ParameterResult, limit float64) grading.Settle {
	p := a.s.Parameter(v.ID)
	distance := math.Abs(v.Value.Float() - limit)
	if distance == 0 || v.Direct || p == nil {
		return grading.Settle{}
	}
	out := grading.Settle{Parameter: v.ID}
	factor := 1.0
	if len(p.Terms) > 1 || len(p.Terms) == 1 && p.Terms[0].Kind == grading.WeightShare {
		factor = a.factor(p, v, limit)
	}
	for i := range p.Terms {
		if !a.more(&out, p, &p.Terms[i], v, limit, factor) {
			return grading.Settle{}
		}
	}
	if out.Grains == 0 && out.Grams == 0 && out.Repeats == 0 {
		return grading.Settle{}
	}
	return out
}

// factor is how many times as much sample, in grams and grains alike, brings
// the bounds clear of the limit, found by trying larger samples.
func (a *Assessor) factor(p *grading.Parameter, v *grading.ParameterResult, limit float64) float64 {
	distance := math.Abs(v.Value.Float() - limit)
	factor, low, high, most := 1.0, v.Low, v.High, mostFactor(a.r, p)
	over := v.Value.Float() > limit
	switch {
	case slices.ContainsFunc(p.Terms, func(t grading.Term) bool { return t.Negative }):
		a.bounding = lower | upper // a part's lower bound is the whole's upper one
	case over:
		a.bounding = lower
	default:
		a.bounding = upper
	}
	for range settleRounds {
		reach := high - v.Value.Float()
		if over {
			reach = v.Value.Float() - low
		}
		// The reach falls by the root of the sample, or, of particles that were
		// not found at all, by the sample itself: a power between the two.
		next := factor * math.Pow(reach/distance, 4.0/3)
		if math.Abs(next-factor) < 0.005*factor || factor*reach > most*distance {
			return next
		}
		factor = next
		more := larger(*a.r, p, factor)
		b := a.summed(&more, p)
		low, high = b.low, b.high
	}
	return factor
}

// mostFactor is where one of the parameter's samples would pass its most.
func mostFactor(r *grading.Readings, p *grading.Parameter) float64 {
	most := math.Inf(1)
	for i := range p.Terms {
		if n, ok := r.Get(p.Terms[i].Over); ok && n > 0 {
			limit := MostGrams
			if p.Terms[i].Kind == grading.CountShare {
				limit = grading.MostGrains
			}
			most = min(most, float64(limit)/n.Float())
		}
	}
	return most
}

// settleRounds is more than the trials need to come to rest.
const settleRounds = 12

// larger is the readings as a sample factor times as large would give them.
func larger(r grading.Readings, p *grading.Parameter, factor float64) grading.Readings {
	var done grading.FieldSet
	grow := func(f grading.Field) {
		if !done.Has(f) {
			if d, ok := r.Get(f); ok && f != grading.Moisture {
				r.Set(f, grading.Decimal(math.Round(float64(d)*factor)))
			}
			done = done.With(f)
		}
	}
	for i := range p.Terms {
		for _, f := range p.Terms[i].Fields {
			grow(f)
		}
		grow(p.Terms[i].Over)
	}
	return r
}

// more sets how much of one term's sample would do.
func (a *Assessor) more(out *grading.Settle, p *grading.Parameter, t *grading.Term, v *grading.ParameterResult, limit, factor float64) bool {
	switch t.Kind {
	case grading.CountShare:
		n, _ := a.r.Get(t.Over)
		if len(p.Terms) == 1 {
			out.Grains = grainsFor(v.Value.Float()/100, limit/100, n.Float())
		} else {
			out.Grains = int(math.Ceil(n.Float()*factor/grading.PanGrains)) * grading.PanGrains
		}
		return out.Grains > 0 && out.Grains <= grading.MostGrains
	case grading.WeightShare:
		whole, ok := a.r.Get(grading.SampleWeight)
		if !ok {
			whole, _ = a.r.Get(t.Over)
		}
		grams := math.Ceil(whole.Float()*factor/sieveGrams) * sieveGrams
		if !(grams > 0 && grams <= MostGrams) {
			return false
		}
		out.Grams = grading.NewDecimal(int(grams))
		return true
	case grading.MeanOf:
		distance := v.Value.Float() - limit
		room := distance*distance/(reach95*reach95) - a.offBy(a.r)*a.offBy(a.r)
		if room <= 0 {
			return false
		}
		out.Repeats = int(math.Ceil(a.c.MeterRepeatability * a.c.MeterRepeatability / room))
		return out.Repeats <= MostReadings && out.Repeats > 0
	}
	return false
}

// grainsFor is the number of grains, in whole pans and more than n, at which
// the Clopper-Pearson bounds of a share no longer enclose the limit (all as
// fractions of 1); 0 when MostGrains do not do.
func grainsFor(share, limit, n float64) int {
	first := int(n/grading.PanGrains) + 1
	for pans := first; pans*grading.PanGrains <= grading.MostGrains; pans++ {
		size := float64(pans * grading.PanGrains)
		x := share * size
		// The bounds enclose the limit unless so extreme a count is rare there.
		if share > limit && betaChance(x, size-x+1, limit) < lowTail {
			return pans * grading.PanGrains
		}
		if share < limit && 1-betaChance(x+1, size-x, limit) < lowTail {
			return pans * grading.PanGrains
		}
	}
	return 0
}

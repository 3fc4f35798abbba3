package grading

import "math"

// How much more sample it is worth asking for. Source: assumed. Beyond these
// the lot lies too near to the limit to be told by hand.
const (
	// panKernels is one pan: kernels are counted by whole pans.
	panKernels = 100
	// MostKernels is the most kernels that Settle asks to count in all.
	MostKernels = 2000
	// sieveGrams is the step in which more sample is asked for, g.
	sieveGrams = 10
	// MostGrams is the most that Settle asks to sieve and pick in all, g.
	MostGrams = 2000
	// MostReadings is the most moisture readings that Settle asks for in all.
	MostReadings = 12
)

// settle finds, of the parameters that make the grade doubtful, the one most
// in doubt, and how much sample in all would bring its bounds clear of the
// limit, were its value to stay what it is. It stays nil when no amount within
// reason would.
func (a *Assessor) settle() {
	if !a.res.Borderline {
		return
	}
	worst, doubt := -1, 0.0
	var limit *Decimal
	for i := range a.res.Parameters {
		l := a.doubtful(i)
		if l == nil {
			continue
		}
		under := a.beliefs[i].under(l.Float())
		if d := min(under, 1-under); worst < 0 || d > doubt {
			worst, doubt, limit = i, d, l
		}
	}
	if worst >= 0 {
		a.res.Settle = a.enough(&a.res.Parameters[worst], &a.beliefs[worst], limit.Float())
	}
}

// enough computes the Settle of one parameter.
func (a *Assessor) enough(v *ParameterResult, b *belief, limit float64) *Settle {
	p := a.s.Parameter(v.ID)
	distance := math.Abs(v.Value.Float() - limit)
	if distance == 0 || v.Direct || p == nil {
		return nil
	}
	out := Settle{Parameter: v.ID}
	reach := max(limit-v.Low, v.High-limit, distance)
	factor := (reach / distance) * (reach / distance)
	for i := range p.Terms {
		if !a.more(&out, &p.Terms[i], v, limit, factor) {
			return nil
		}
	}
	if out.Kernels == 0 && out.Grams == 0 && out.Repeats == 0 {
		return nil
	}
	return &out
}

// more sets how much of one term's sample would do: factor times as much by
// the square-root rule, checked exactly for counts.
func (a *Assessor) more(out *Settle, t *Term, v *ParameterResult, limit, factor float64) bool {
	switch t.Kind {
	case CountShare:
		n, _ := a.r.Get(t.Over)
		if len(a.s.Parameter(v.ID).Terms) == 1 {
			out.Kernels = kernelsFor(v.Value.Float()/100, limit/100, n.Float())
		} else {
			out.Kernels = int(math.Ceil(n.Float()*factor/panKernels)) * panKernels
		}
		return out.Kernels > 0 && out.Kernels <= MostKernels
	case MassShare:
		whole, ok := a.r.Get(SampleMass)
		if !ok {
			whole, _ = a.r.Get(t.Over)
		}
		grams := math.Ceil(whole.Float()*factor/sieveGrams) * sieveGrams
		if grams > MostGrams || grams <= 0 {
			return false
		}
		out.Grams = NewDecimal(int(grams))
	case MeanOf:
		z := normalQuantile((1 + Level) / 2)
		distance := v.Value.Float() - limit
		room := distance*distance/(z*z) - a.c.MeterBias*a.c.MeterBias
		if room <= 0 {
			return false
		}
		out.Repeats = int(math.Ceil(a.c.MeterRepeatability * a.c.MeterRepeatability / room))
		return out.Repeats <= MostReadings && out.Repeats > 0
	default:
		return false
	}
	return true
}

// kernelsFor is the number of kernels, in whole pans and more than n, at which
// the Clopper-Pearson bounds of a share no longer enclose the limit (all as
// fractions of 1); 0 when MostKernels do not do.
func kernelsFor(share, limit, n float64) int {
	tail := (1 - Level) / 2
	first := int(n/panKernels) + 1
	for pans := first; pans*panKernels <= MostKernels; pans++ {
		size := float64(pans * panKernels)
		x := share * size
		// The bounds enclose the limit unless so extreme a count is rare there.
		if share > limit && betaChance(x, size-x+1, limit) < tail {
			return pans * panKernels
		}
		if share < limit && 1-betaChance(x+1, size-x, limit) < tail {
			return pans * panKernels
		}
	}
	return 0
}

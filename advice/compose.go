package advice

import g "threshline/grading"

// parts is what the weighed sample of a lot is made of, as fractions of it.
type parts struct {
	chaff, stones float64
	hasChaff      bool
	hasStones     bool
}

// unsplit is the part of foreign matter taken as chaff when a percentage was
// given for both together: a half, assumed, [ASSUMED-ADVICE].
const unsplit = 0.5

// partsOf takes chaff and stones by weight where they were weighed. Percentages
// that were given directly override that, as they do in grading.
func partsOf(s *g.Standard, r *g.Readings) parts {
	var p parts
	whole, weighed := r.Get(g.SampleWeight)
	if weighed && whole > 0 {
		if m, ok := r.Get(g.Chaff); ok {
			p.chaff, p.hasChaff = m.Float()/whole.Float(), true
		}
		if m, ok := r.Get(g.Stones); ok {
			p.stones, p.hasStones = m.Float()/whole.Float(), true
		}
	}
	if len(r.Values) > 0 {
		p.fromValues(s, r)
	}
	if sum := p.chaff + p.stones; sum > 1 { // two percentages that contradict each other
		p.chaff, p.stones = p.chaff/sum, p.stones/sum
	}
	return p
}

func (p *parts) fromValues(s *g.Standard, r *g.Readings) {
	for i := range s.Parameters {
		given, ok := r.Values[s.Parameters[i].ID]
		if !ok {
			continue
		}
		m := madeOf(s, &s.Parameters[i])
		if !s.Parameters[i].Unit.Percentage() || !m.ofSample || m.mixed || m.fields&^(bit(g.Chaff)|bit(g.Stones)) != 0 {
			continue
		}
		share := given.Float() / 100
		if m.complement {
			share = 1 - share
		}
		switch m.fields {
		case bit(g.Chaff):
			p.chaff, p.hasChaff = share, true
		case bit(g.Stones):
			p.stones, p.hasStones = share, true
		case bit(g.Chaff) | bit(g.Stones):
			light := unsplit
			if sum := p.chaff + p.stones; p.hasChaff && p.hasStones && sum > 0 {
				light = p.chaff / sum
			}
			p.chaff, p.stones = share*light, share*(1-light)
			p.hasChaff, p.hasStones = true, true
		}
	}
}

// makeup is what a parameter is made of.
type makeup struct {
	fields fieldSet
	// ofSample: over the weight of the sample as received, so that it changes when
	// something is taken out of the bag. mixed: some terms are, others are not.
	ofSample, mixed bool
	// complement: 100 less the parts.
	complement bool
}

// deepest ends a chain of parameters made of parameters.
const deepest = 4

func madeOf(s *g.Standard, p *g.Parameter) makeup {
	var m makeup
	other := false
	m.gather(s, p, false, &other, 0)
	m.mixed = m.ofSample && other
	m.complement = m.complement && p.Constant == 100*g.One
	return m
}

func (m *makeup) gather(s *g.Standard, p *g.Parameter, negative bool, other *bool, depth int) {
	for i := range p.Terms {
		t := &p.Terms[i]
		minus := negative != t.Negative
		if t.Kind == g.ValueOf {
			if inner := s.Parameter(t.Parameter); inner != nil && depth < deepest {
				m.gather(s, inner, minus, other, depth+1)
			}
			continue
		}
		m.fields |= g.SetOf(t.Fields...)
		m.complement = m.complement || minus
		if t.Over == g.SampleWeight && (t.Kind == g.WeightShare || t.Kind == g.CountPer) {
			m.ofSample = true
		} else {
			*other = true
		}
	}
}

package hands

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"threshline/grading"
	"threshline/session/ledger/figure"
	"threshline/session/programme"
)

// Held is how well hands did: checks by hand held against the checks with the kit
// after them.
type Held struct {
	// Compared are the pairs that all the rest is of; Late and OtherTable are left
	// out, see programme.PairApart.
	Compared, Late, OtherTable int
	Values                     []Value // in the order in which they first occur
	// InGrades is in how many pairs the grade measured is one of those that were said,
	// of those in which any were; Chance is the mean chance they were said with.
	InGrades figure.Share
	Chance   float64
	// Same is how often the remedy that was advised or tried was that of the kit, of the
	// pairs in which the kit advised one for the lot, Silent how often there none was.
	// Needless is how often a remedy was advised, of the pairs in which the kit advised
	// none; what is only tried is none.
	Same, Silent, Needless figure.Share
}

// Value is one parameter over the pairs in which both have a value of it, in
// its unit.
type Value struct {
	Parameter      grading.ParameterID
	Pairs          int
	Said, Measured float64 // means
	// Off is the mean of said less measured, and Low to High its 95 % interval, from
	// two pairs on: were these a sample of many such pairs, the mean of all would lie
	// in it in 95 of 100 samples, by Student's distribution.
	Off, Low, High float64
	Known          bool // Low and High are
	// Typical is the root of the mean square of what they differ by.
	Typical float64
	// Within is how often the kit's value lies within one standard deviation of what
	// was said.
	Within figure.Share
}

// Hold adds pairs up.
func Hold(pairs []programme.HandPair) Held {
	var h Held
	differences := map[grading.ParameterID][]float64{}
	for i := range pairs {
		p := &pairs[i]
		switch p.Apart {
		case programme.PairLate:
			h.Late++
			continue
		case programme.PairOtherTable:
			h.OtherTable++
			continue
		}
		h.Compared++
		if p.Stated {
			h.Chance += p.Chance
			count(&h.InGrades, p.Held)
		}
		h.remedies(p)
		for j := range p.Values {
			v := &p.Values[j]
			differences[v.Parameter] = append(differences[v.Parameter], v.Said-v.Measured)
			h.value(v)
		}
	}
	if h.InGrades.Of > 0 {
		h.Chance /= float64(h.InGrades.Of)
	}
	for i := range h.Values {
		h.Values[i].finish(differences[h.Values[i].Parameter])
	}
	return h
}

func count(s *figure.Share, has bool) {
	s.Of++
	if has {
		s.Count++
	}
}

func (h *Held) remedies(p *programme.HandPair) {
	if p.ByKit == "" {
		count(&h.Needless, p.ByHand != "")
		return
	}
	count(&h.Same, p.ByHand == p.ByKit || p.Tried == p.ByKit)
	count(&h.Silent, p.ByHand == "" && p.Tried == "")
}

func (h *Held) value(v *programme.HandValue) {
	i := slices.IndexFunc(h.Values, func(k Value) bool { return k.Parameter == v.Parameter })
	if i < 0 {
		i, h.Values = len(h.Values), append(h.Values, Value{Parameter: v.Parameter})
	}
	k := &h.Values[i]
	k.Pairs++
	k.Said, k.Measured = k.Said+v.Said, k.Measured+v.Measured
	count(&k.Within, v.Within())
}

// finish makes means of sums.
func (k *Value) finish(differences []float64) {
	n := float64(k.Pairs)
	k.Said, k.Measured = k.Said/n, k.Measured/n
	k.Off = k.Said - k.Measured
	squares, about := 0.0, 0.0
	for _, d := range differences {
		squares, about = squares+d*d, about+(d-k.Off)*(d-k.Off)
	}
	k.Typical = math.Sqrt(squares / n)
	if k.Pairs < 2 {
		return
	}
	half := distuv.StudentsT{Sigma: 1, Nu: n - 1}.Quantile(0.975) * math.Sqrt(about/(n-1)/n)
	k.Low, k.High, k.Known = k.Off-half, k.Off+half, true
}

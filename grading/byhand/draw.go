package byhand

import (
	"math"
	"slices"

	"threshline/grading"
	"threshline/grading/chance"
)

// shares are what is drawn of a lot, in the order of their dimensions.
var shares = [...]grading.Field{
	grading.Chaff, grading.Stones, grading.ImmatureWeight,
	grading.PestDamaged, grading.Discoloured, grading.Red, grading.OtherVariety,
}

// lots is what a lot may be: the families, and in each a belief in every share.
type lots struct {
	r       *grading.Readings
	signs   []grading.Flag // but for those of water, which each lot has a moisture for
	weights [2]float64
	beliefs [2][len(shares)]belief
	water   [2]chance.Usual
}

func lotsFrom(r *grading.Readings, o Options) *lots {
	l := &lots{r: r, signs: slices.DeleteFunc(slices.Clone(r.Flags), grading.Flag.OfWater)}
	var log [2]float64
	for k, usual := range chance.Families(o.Usual) {
		l.water[k] = usual[grading.Moisture]
		for i, f := range shares {
			b, evidence := believe(usual[f], likelihood(f, &r.Hand, o.Bags))
			l.beliefs[k][i] = b
			log[k] += evidence
		}
	}
	l.weights = chance.FamilyWeights(log)
	return l
}

// likelihood says how likely a share of a field makes the count; nil where nothing
// was counted of it.
func likelihood(f grading.Field, h *grading.Hand, bags int) func(float64) float64 {
	handfuls, grains, filled := int(h.Handfuls), int(h.Grains), int(h.Grains-h.Empty)
	husked := func(n uint16) func(float64) float64 {
		if h.Husked == 0 {
			return nil
		}
		v := spread(handfuls, bags, seenKernel)
		return func(share float64) float64 { return ofCount(int(n), int(h.Husked), seenOf(share), v) }
	}
	switch f {
	case grading.Chaff:
		v := spread(handfuls, bags, emptyPiece, fullGrain, seenEmpty)
		return func(c float64) float64 { return ofCount(int(h.Empty), grains, emptyFraction(c), v) }
	case grading.ImmatureWeight:
		v := spread(handfuls, bags, immatureShare, seenGreen)
		return func(m float64) float64 { return ofCount(int(h.Green), filled, greenFraction(m), v) }
	case grading.Stones:
		v := spread(handfuls, bags, stonePiece, fullGrain, seenStone)
		grams := float64(h.Empty)*emptyPiece.mean + float64(filled)*fullGrain.mean
		return func(s float64) float64 { return ofNumber(int(h.Stones), stonesBeside(s, grams), v) }
	case grading.PestDamaged:
		return husked(h.Bored)
	case grading.Discoloured:
		return husked(h.Discoloured)
	case grading.Red:
		return husked(h.Red)
	}
	return nil
}

// The full check that a drawn lot is written down as: fine enough to hold any share,
// and of what its paddy gives when it is husked, % of the clean paddy. Source of
// the yield: the published means are 77.7 to 82.0 [ISO-17301 Annex D]; that a lot
// lies so around 79.5 is assumed, [ASSUMED-HAND].
const (
	sampleGrams            = 1000
	panGrains              = 2000
	huskedYield, yieldWide = 79.5, 1.5
)

// draw is the i-th lot: the same for the same counts.
func (l *lots) draw(i int) grading.Readings {
	k := 0
	if point(i, 0) >= l.weights[0] {
		k = 1
	}
	var x [len(shares)]float64
	for j := range shares {
		x[j] = l.beliefs[k][j].at(point(i, j+1))
	}
	r := grading.Readings{Flags: l.signs, Looked: l.r.Looked, Class: l.r.Class}
	for _, f := range grading.FieldsOf(grading.Insects) {
		if v, ok := l.r.Get(f); ok {
			r.Set(f, v)
		}
	}
	set := func(f grading.Field, v float64, step float64) {
		r.Set(f, grading.Decimal(math.Round(v/step)*step*float64(grading.One)))
	}
	chaff, stones := x[0], min(x[1], 0.9-x[0])
	clean := sampleGrams * (1 - chaff - stones)
	brown := clean * (huskedYield + yieldWide*normal(point(i, len(shares)+1))) / 100
	set(grading.SampleWeight, sampleGrams, 0.001)
	set(grading.Chaff, sampleGrams*chaff, 0.001)
	set(grading.Stones, sampleGrams*stones, 0.001)
	set(grading.CleanWeight, clean, 0.001)
	set(grading.BrownWeight, brown, 0.001)
	set(grading.ImmatureWeight, brown*x[2], 0.001)
	set(grading.Counted, panGrains, 1)
	left := float64(panGrains)
	for j := 3; j < len(shares); j++ {
		n := math.Round(min(x[j]*panGrains, left))
		left -= n
		set(shares[j], n, 1)
	}
	set(grading.Moisture, l.moisture(k, point(i, len(shares)+2)), 0.1)
	return r
}

// Where water is felt without a meter, % wet basis: a grain clicks under about 15
// [RAB-RICE], salt clings over 15 [AFAG-2007]; how sharply, and where a grain is
// pressed flat, is assumed, [ASSUMED-HAND].
const (
	feltWet, feltVeryWet, feltWithin = 15, 18, 0.7
)

// moisture is that of the family, beyond what was felt.
func (l *lots) moisture(k int, u float64) float64 {
	w := l.water[k]
	if w.Mean == 0 {
		w = chance.Usual{Mean: 14, Deviation: 1.2}
	}
	over := 0.0
	switch l.r.WetByHand() {
	case grading.TooWet:
		over = feltWet - feltWithin
	case grading.VeryWet:
		over = feltVeryWet - feltWithin
	default:
		return max(w.Mean+w.Deviation*normal(u), 8)
	}
	return over + w.Deviation*-math.Log(1-u)
}

// normal is the standard normal under which a chance u lies.
func normal(u float64) float64 { return math.Sqrt2 * math.Erfinv(2*u-1) }

// dimensions are those of a point: the family, the shares, the yield and the water.
const dimensions = len(shares) + 3

// point is the i-th of points that fill all dimensions evenly, from 0 to 1: each
// dimension goes on by its own power of the root of x^(d+1) = x + 1.
func point(i, dimension int) float64 {
	_, part := math.Modf(0.5 + float64(i+1)*strides[dimension])
	return min(max(part, 1e-6), 1-1e-6)
}

var strides = func() (out [dimensions]float64) {
	root := 2.0
	for range 64 {
		root = math.Pow(1+root, 1/float64(dimensions+1))
	}
	for d := range out {
		out[d] = math.Pow(1/root, float64(d+1))
	}
	return out
}()

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
	asSeen  grading.Readings // what holds of each lot: signs but those of water, insects, the class
	weights [2]float64
	beliefs [2][len(shares)]belief
	water   [2]chance.Usual
	metered float64 // variance of the mean that a meter read
	counts  []foretold
}

func lotsFrom(r *grading.Readings, o Options) *lots {
	l := &lots{r: r, metered: meteredVariance(r), counts: countsOf(&r.Hand, o.Bags)}
	l.asSeen = grading.Readings{Looked: r.Looked, Class: r.Class, Flags: slices.DeleteFunc(slices.Clone(r.Flags), grading.Flag.OfWater)}
	for _, f := range grading.FieldsOf(grading.Insects) {
		if v, ok := r.Get(f); ok {
			l.asSeen.Set(f, v)
		}
	}
	var log [2]float64
	for k, usual := range chance.Families(o.Usual) {
		l.water[k] = usual[grading.Moisture]
		for i, f := range shares {
			var likely func(float64) float64
			if c := l.counted(f); c != nil {
				likely = c.likely
			}
			b, evidence := believe(usual[f], likely)
			l.beliefs[k][i] = b
			log[k] += evidence
		}
	}
	l.weights = chance.FamilyWeights(log, heed)
	return l
}

// counted is the count of a field; nil where there is none.
func (l *lots) counted(f grading.Field) *foretold {
	for i := range l.counts {
		if l.counts[i].Field == f {
			return &l.counts[i]
		}
	}
	return nil
}

// heed is how strongly counts by hand choose between the families: in full, since
// they are few. Source: our choice, [ASSUMED-HAND].
const heed = 1

// What the paddy of a lot gives when it is husked, % of the clean paddy. Source: the
// published means are 77.7 to 82.0 [ISO-17301 Annex D]; that lots lie so around 79.5
// is assumed, [ASSUMED-HAND].
const huskedYield, yieldDeviation = 79.5, 1.5

// composition is a lot that was drawn: shares of 1 in the order of shares, the rest
// in percent.
type composition struct {
	share         [len(shares)]float64
	husked, water float64
}

// draw is the i-th lot: the same for the same counts.
func (l *lots) draw(i int) (c composition) {
	k := 0
	if point(i, 0) >= l.weights[0] {
		k = 1
	}
	for j := range c.share {
		c.share[j] = l.beliefs[k][j].at(point(i, j+1))
	}
	c.share[1] = min(c.share[1], 0.9-c.share[0])
	c.husked = huskedYield + yieldDeviation*normal(point(i, len(shares)+1))
	c.water = l.moisture(k, point(i, len(shares)+2))
	return c
}

// kit is a full check without errors: a sample sieved and picked, g, and grains
// counted. Exact can hold any share, usual is as fine as people measure.
type kit struct{ grams, grains float64 }

var exact, usual = kit{1000, 2000}, kit{200, 400}

// measured is what the kit reads of a lot.
func (l *lots) measured(c *composition, k kit) grading.Readings {
	r := l.asSeen
	weigh := func(f grading.Field, grams float64) { r.Set(f, grading.Decimal(math.Round(grams*100))*grading.One/100) }
	clean := k.grams * (1 - c.share[0] - c.share[1])
	brown := clean * c.husked / 100
	weigh(grading.SampleWeight, k.grams)
	weigh(grading.Chaff, k.grams*c.share[0])
	weigh(grading.Stones, k.grams*c.share[1])
	weigh(grading.CleanWeight, clean)
	weigh(grading.BrownWeight, brown)
	weigh(grading.ImmatureWeight, brown*c.share[2])
	r.Set(grading.Counted, grading.NewDecimal(int(k.grains)))
	for left, j := k.grains, 3; j < len(shares); j++ {
		n := math.Round(min(c.share[j]*k.grains, left))
		left -= n
		r.Set(shares[j], grading.NewDecimal(int(n)))
	}
	r.Set(grading.Moisture, grading.Decimal(math.Round(max(c.water, 5)*10))*grading.One/10)
	return r
}

// meetsEvery is a moisture that meets the limit of every standard, % wet basis.
const meetsEvery = 12 * grading.One

// known is a lot as a kit reads it, with the water that is known.
func (l *lots) known(r grading.Readings) grading.Readings {
	if r.Set(grading.Moisture, meetsEvery); len(l.r.Repeats) > 0 {
		r.Repeats, r.Meter = l.r.Repeats, l.r.Meter
	}
	return r
}

// Where water is felt without a meter, % wet basis: a grain clicks under about 15
// [RAB-RICE], salt clings over 15 [AFAG-2007]; how sharply, and where a grain is
// pressed flat, is assumed, [ASSUMED-HAND].
const (
	feltWet, feltVeryWet, feltWithin = 15, 18, 0.7
)

// moisture is what a meter read, as far as that can be trusted and as is usual, or
// that of the family beyond what was felt.
func (l *lots) moisture(k int, u float64) float64 {
	w := l.water[k]
	if len(l.r.Repeats) > 0 {
		known, seen := 1/(w.Deviation*w.Deviation), 1/l.metered
		mean := (w.Mean*known + l.r.MeanMoisture().Float()*seen) / (known + seen)
		return mean + normal(u)/math.Sqrt(known+seen)
	}
	over := 0.0
	switch l.r.WetByHand() {
	case grading.TooWet:
		over = feltWet - feltWithin
	case grading.VeryWet:
		over = feltVeryWet - feltWithin
	default:
		return w.Mean + w.Deviation*normal(u)
	}
	return over + w.Deviation*-math.Log(1-u)
}

// meteredVariance is how far the mean of the meter's readings may be off, squared.
func meteredVariance(r *grading.Readings) float64 {
	c := chance.DefaultCertainty()
	off := c.MeterDoubt
	if r.Meter.Checked {
		off = r.Meter.Doubt.Float()
	}
	return c.MeterRepeatability*c.MeterRepeatability/float64(max(len(r.Repeats), 1)) + off*off
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

package byhand

import "math"

// weight is a mean with its doubt: a relative standard deviation, of the mean as it
// is in one place and season.
type weight struct{ mean, doubt float64 }

// The weights of pieces, g, and what people see of them. Doubts are assumed
// throughout, [ASSUMED-HAND].
var (
	// fullGrain: 20 g are 800 grains, as in chance.DefaultCertainty.
	fullGrain = weight{0.025, 0.08}
	// emptyPiece is the mean of what is counted as empty or chaff: an empty husk is a
	// fifth of a full grain, 0.005 g, by [IRRI-MILL]; straw, weed seed and grains that
	// hardly filled weigh more. Source of the mean: assumed.
	emptyPiece = weight{0.0065, 0.25}
	// immatureShare is the weight of an immature kernel beside a full one. Source:
	// assumed; immature kernels are slender and chalky [IRRI-MILL says nothing of
	// their weight].
	immatureShare = weight{0.6, 0.2}
	// stonePiece is a stone or clod that is seen: the mean by number of those whose
	// mean by mass is 0.050 g in chance.DefaultCertainty. Source: assumed.
	stonePiece = weight{0.040, 0.4}

	// What is seen of each, as a fraction of what is there. Source: assumed: small
	// stones are missed, half-filled grains called full, a skin that is barely red
	// called white.
	seenEmpty  = weight{0.95, 0.05}
	seenGreen  = weight{0.8, 0.1}
	seenStone  = weight{0.9, 0.1}
	seenKernel = weight{1, 0.1}
)

// How far one handful differs from the lot, relative to the share that it shows.
const (
	// bagDeviation is how far bags of one lot differ: that of which
	// chance.DefaultCertainty makes its BagDeviation. Source: assumed.
	bagDeviation = 0.7
	// scoopDeviation is how far a handful differs from its bag: chaff lies above and
	// stones below. Source: assumed.
	scoopDeviation = 0.3
)

// spread is the relative variance of a share that handfuls of so many of the
// lot's bags show (0 bags: unknown), beside the scatter of the counting itself.
func spread(handfuls, bags int, doubts ...weight) float64 {
	n := float64(max(handfuls, 1))
	unlike := bagDeviation * bagDeviation / n
	if bags > 0 {
		unlike *= max(1-n/float64(bags), 0)
	}
	v := unlike + scoopDeviation*scoopDeviation/n
	for _, d := range doubts {
		v += d.doubt * d.doubt
	}
	return v
}

// emptyFraction is the part of counted grains that are called empty in a lot whose
// chaff is a share c of its mass.
func emptyFraction(c float64) float64 {
	empties, full := c/emptyPiece.mean, (1-c)/fullGrain.mean
	return seenEmpty.mean * empties / (empties + full)
}

// greenFraction is the part of filled and half-filled grains that are called green
// in a lot of whose brown rice a share m of the mass is immature.
func greenFraction(m float64) float64 {
	thin := m / immatureShare.mean
	return seenGreen.mean * thin / (thin + 1 - m)
}

// stonesBeside is how many stones are seen beside grains of a mass in grams, in a
// lot of whose mass they are a share s.
func stonesBeside(s, grams float64) float64 {
	return seenStone.mean * s / (1 - s) * grams / stonePiece.mean
}

// seenOf is the part of husked grains that are called red, bored or discoloured
// where such a share is.
func seenOf(share float64) float64 { return math.Min(seenKernel.mean*share, 1) }

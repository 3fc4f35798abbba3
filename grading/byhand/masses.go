package byhand

// Weight is a mean that counts are turned into shares with, and its doubt: a standard
// deviation relative to it, of the mean as it is in one place and season.
type Weight struct {
	// Of says of what, in words; Unit is "g", or "" for a fraction of 1.
	Of, Unit    string
	Mean, Doubt float64
	Source      string
}

// The source of a mean that is our own choice. All doubts are.
const assumed = "[ASSUMED-HAND]"

// The weights of pieces, and what people see of them.
var (
	// 20 g are 800 grains, as in chance.DefaultCertainty.
	fullGrain = Weight{"a full grain", "g", 0.025, 0.08, assumed}
	// An empty husk is a fifth of a full grain by [IRRI-MILL], 0.005 g; straw, weed
	// seed and grains that hardly filled weigh more.
	emptyPiece = Weight{"an empty grain or piece of chaff", "g", 0.0065, 0.25, assumed + ", over the 0.005 of a husk [IRRI-MILL]"}
	// Immature kernels are slender; how much lighter they are was not found.
	immatureKernel = Weight{"an immature kernel beside a full one", "", 0.6, 0.2, assumed}
	// The mean by number of stones whose mean by mass is 0.050 g in
	// chance.DefaultCertainty.
	stonePiece = Weight{"a stone or clod", "g", 0.040, 0.4, assumed}
	// Grains that hold a little are called full.
	seenEmpty = Weight{"of empty grains and chaff, seen", "", 0.95, 0.05, assumed}
	// Half-filled grains are called full.
	seenGreen = Weight{"of green and half-filled grains, seen", "", 0.8, 0.1, assumed}
	// Small stones are missed.
	seenStone = Weight{"of stones, seen", "", 0.9, 0.1, assumed}
	// A skin that is barely red is called white, and the other way round.
	seenKernel = Weight{"of red, bored and discoloured kernels, seen", "", 1, 0.1, assumed}
)

// Weights lists them all, for a reader who checks every step.
func Weights() []Weight {
	return []Weight{fullGrain, emptyPiece, immatureKernel, stonePiece, seenEmpty, seenGreen, seenStone, seenKernel}
}

// How far one handful differs from the lot, relative to the share that it shows.
const (
	// BagDeviation is how far bags of one lot differ: that of which
	// chance.DefaultCertainty makes its own. Source: assumed, [ASSUMED-HAND].
	BagDeviation = 0.7
	// ScoopDeviation is how far a handful differs from its bag: chaff lies above and
	// stones below. Source: assumed, [ASSUMED-HAND].
	ScoopDeviation = 0.3
)

// spread is the relative variance of a share that handfuls of so many of the
// lot's bags show (0 bags: unknown), beside the scatter of the counting itself.
func spread(handfuls, bags int, doubts ...Weight) float64 {
	n := float64(max(handfuls, 1))
	unlike := BagDeviation * BagDeviation / n
	if bags > 0 {
		unlike *= max(1-n/float64(bags), 0)
	}
	v := unlike + ScoopDeviation*ScoopDeviation/n
	for _, d := range doubts {
		v += d.Doubt * d.Doubt
	}
	return v
}

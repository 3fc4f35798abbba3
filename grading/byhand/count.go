package byhand

import (
	"math"

	"threshline/grading"
)

// Count is one of the counts of a check by hand, and what it says of its field.
type Count struct {
	Field grading.Field
	// Seen are those counted, Of the grains that were looked at: for stones, those that
	// they lay beside.
	Seen, Of int
	// Shows is the field's share, %, that the count shows by itself, at the mean weights
	// of the pieces.
	Shows float64
	// Scatter is how far that may lie from the lot's share because handfuls, weights and
	// eyes differ: a standard deviation, relative; that few were counted comes besides.
	Scatter float64
	// Mean and Deviation are of the share over all that the lot may be, %.
	Mean, Deviation float64
}

// foretold is a count with what a share of its field foretells: a part of the grains, or
// for stones how many.
type foretold struct {
	Count
	by func(share float64) float64
}

// countsOf lists what was counted.
func countsOf(h *grading.Hand, bags int) []foretold {
	handfuls, filled := int(h.Handfuls), h.Grains-h.Empty
	scatter := func(doubts ...Weight) float64 { return math.Sqrt(spread(handfuls, bags, doubts...)) }
	grams := float64(h.Empty)*emptyPiece.Mean + float64(filled)*fullGrain.Mean
	out := []foretold{
		{Count{
			Field: grading.Chaff, Seen: int(h.Empty), Of: int(h.Grains),
			Shows: chaffShown(fraction(h.Empty, h.Grains)), Scatter: scatter(emptyPiece, fullGrain, seenEmpty),
		}, emptyFraction},
		{Count{
			Field: grading.Stones, Seen: int(h.Stones), Of: int(h.Grains),
			Shows: stonesShown(float64(h.Stones), grams), Scatter: scatter(stonePiece, fullGrain, seenStone),
		}, func(s float64) float64 { return stonesBeside(s, grams) }},
	}
	if filled > 0 {
		out = append(out, foretold{Count{
			Field: grading.ImmatureWeight, Seen: int(h.Green), Of: int(filled),
			Shows: immatureShown(fraction(h.Green, filled)), Scatter: scatter(immatureKernel, seenGreen),
		}, greenFraction})
	}
	if h.Husked == 0 {
		return out
	}
	for _, c := range [...]struct {
		field grading.Field
		seen  uint16
	}{{grading.PestDamaged, h.Bored}, {grading.Discoloured, h.Discoloured}, {grading.Red, h.Red}} {
		out = append(out, foretold{Count{
			Field: c.field, Seen: int(c.seen), Of: int(h.Husked),
			Shows: 100 * fraction(c.seen, h.Husked), Scatter: scatter(seenKernel),
		}, func(share float64) float64 { return seenKernel.Mean * share }})
	}
	return out
}

func fraction(part, of uint16) float64 { return float64(part) / float64(of) }

// likely is the log likelihood of the count where the field has such a share.
func (c *foretold) likely(share float64) float64 {
	if c.Field == grading.Stones {
		return ofNumber(c.Seen, c.by(share), c.Scatter*c.Scatter)
	}
	return ofCount(c.Seen, c.Of, c.by(share), c.Scatter*c.Scatter)
}

// emptyFraction is the part of counted grains that are called empty in a lot whose
// chaff is a share c of its mass; chaffShown is the share, %, that such a part shows.
func emptyFraction(c float64) float64 {
	empties, full := c/emptyPiece.Mean, (1-c)/fullGrain.Mean
	return seenEmpty.Mean * empties / (empties + full)
}

func chaffShown(part float64) float64 {
	part = min(part/seenEmpty.Mean, 1)
	chaff, full := part*emptyPiece.Mean, (1-part)*fullGrain.Mean
	return 100 * chaff / (chaff + full)
}

// greenFraction is the part of filled and half-filled grains that are called green
// in a lot of whose brown rice a share m of the mass is immature; immatureShown is
// the share, %, that such a part shows.
func greenFraction(m float64) float64 {
	thin := m / immatureKernel.Mean
	return seenGreen.Mean * thin / (thin + 1 - m)
}

func immatureShown(part float64) float64 {
	part = min(part/seenGreen.Mean, 1)
	thin := part * immatureKernel.Mean
	return 100 * thin / (thin + 1 - part)
}

// stonesBeside is how many stones are seen beside grains of a mass in grams, in a
// lot of whose mass they are a share s; stonesShown is the share, %, that so many show.
func stonesBeside(s, grams float64) float64 {
	return seenStone.Mean * s / (1 - s) * grams / stonePiece.Mean
}

func stonesShown(number, grams float64) float64 {
	stones := number / seenStone.Mean * stonePiece.Mean
	return 100 * stones / (stones + grams)
}

package programme_test

import (
	"math"
	"math/rand/v2"

	"threshline/grading"
)

// Fractions of a lot.
const (
	chaff = iota
	stones
	immature
	bored
	stained
	red
	other
	fractions
)

// handCrop is a season: each share is gamma over its lots.
type handCrop struct {
	name        string
	water, wide float64
	mean, shape [fractions]float64
}

var handCrops = [...]handCrop{
	{"clean", 13.2, 0.6, [fractions]float64{0.008, 0.002, 0.006, 0.003, 0.005, 0.02, 0.015}, [fractions]float64{1.5, 1, 1.5, 1, 1, 1, 1}},
	{"rough", 14, 0.9, [fractions]float64{0.03, 0.008, 0.02, 0.012, 0.02, 0.06, 0.04}, [fractions]float64{2, 1, 2, 1.5, 1.5, 1.5, 1}},
}

// paddy is what a lot, or a bag of it, holds: shares of 1, and moisture in percent.
type paddy struct {
	share [fractions]float64
	water float64
}

// handStandards are the limits of the tables, written out again: first without,
// then with those of water. In percent, best first.
var handStandards = [...]struct {
	id    string
	water []float64
	rows  [][]float64
	made  func(p *paddy) []float64
}{
	{"mbuyu-hand", []float64{14, 14, 15}, [][]float64{{1, 0.5, 3, 1, 2, 2}, {2, 1, 6, 3, 4, 5}, {4, 2, 10, 5, 8, 10}}, func(p *paddy) []float64 {
		s := &p.share
		return []float64{s[chaff], s[stones], s[immature], s[bored], s[stained], s[red]}
	}},
	{"agmark-paddy", []float64{14, 14, 14, 14}, [][]float64{{1, 5, 1}, {2, 10, 2}, {4, 15, 5}, {7, 30, 10}}, func(p *paddy) []float64 {
		s := &p.share
		return []float64{s[chaff] + s[stones], s[red] + s[other], s[immature] + s[bored] + s[stained]}
	}},
	{"in-kms", []float64{17}, [][]float64{{1, 1, 5, 4, 3, 6}}, func(p *paddy) []float64 {
		s := &p.share
		return []float64{s[chaff], s[stones], s[bored] + s[stained], s[bored], s[immature], s[red] + s[other]}
	}},
}

// rankOf is the first row all of whose limits are kept, from 1.
func rankOf(water []float64, rows [][]float64, p *paddy, made []float64, once bool) int {
	for i, limits := range rows {
		kept := once || p.water <= water[i]
		for j := range limits {
			kept = kept && 100*made[j] <= limits[j]
		}
		if kept {
			return i + 1
		}
	}
	return len(rows) + 1
}

// gammaOf draws from a gamma of that mean and shape, by the sum of exponentials
// for its whole part and by rejection (Ahrens and Dieter) for what is left.
func gammaOf(r *rand.Rand, mean, shape float64) float64 {
	sum := 0.0
	for range int(shape) {
		sum += r.ExpFloat64()
	}
	if rest := shape - math.Floor(shape); rest > 0 {
		edge := math.E / (math.E + rest)
		for {
			u, v := r.Float64(), r.ExpFloat64()
			if u <= edge {
				if x := math.Pow(u/edge, 1/rest); v >= x {
					sum += x
					break
				}
			} else if x := 1 - math.Log((u-edge)/(1-edge)); v >= (1-rest)*math.Log(x) {
				sum += x
				break
			}
		}
	}
	return mean * sum / shape
}

// draw draws a lot: what it is, and its bags.
func (c *handCrop) draw(r *rand.Rand, deviation float64) (lot paddy, bags [bagsInLot]paddy) {
	for f := range fractions {
		share := gammaOf(r, c.mean[f], c.shape[f])
		for b := range bags {
			bags[b].share[f] = min(unlike(r, share, deviation), 0.4)
			lot.share[f] += bags[b].share[f] / bagsInLot
		}
	}
	water := c.water + c.wide*r.NormFloat64()
	for b := range bags {
		bags[b].water = water + 0.5*deviation*r.NormFloat64()
		lot.water += bags[b].water / bagsInLot
	}
	return lot, bags
}

// unlike draws what a share is in one place, when places differ by a deviation.
func unlike(r *rand.Rand, share, deviation float64) float64 {
	if deviation == 0 {
		return share
	}
	return gammaOf(r, share, 1/(deviation*deviation))
}

// scoop is how far a handful differs from its bag.
const scoop = 0.3

// countedByHand is what somebody counts of a handful from each of some bags: 200
// grains in all, 50 of them husked. Of the small stones a tenth is missed, sand is
// not seen at all, and a fifth of the half-filled grains passes for full.
func countedByHand(r *rand.Rand, bags []paddy) (h grading.Hand) {
	h.Handfuls = uint16(len(bags))
	handfuls := make([]paddy, len(bags))
	for i := range bags {
		handfuls[i] = bags[i]
		for f := range fractions {
			handfuls[i].share[f] = min(unlike(r, bags[i].share[f], scoop), 0.5)
		}
	}
	// What weighs a gram of each, by number.
	const (
		fullGrain              = 0.025
		emptyHusk, straw       = 0.005, 0.009 // 6 and 1.5 parts by mass of ten
		light                  = 0.012        // half filled, and blown out with the chaff: 2.5 parts
		smallStone, largeStone = 0.025, 0.08  // 5 and 3 parts of ten; the rest is sand
	)
	for h.Grains < 200 {
		at := &handfuls[r.IntN(len(handfuls))]
		c, s := at.share[chaff], at.share[stones]
		pieces := []float64{
			0.6 * c / emptyHusk, 0.15 * c / straw, 0.25 * c / light,
			0.5 * s / smallStone, 0.3 * s / largeStone, (1 - c - s) / fullGrain,
		}
		u := 0.0
		for _, n := range pieces {
			u += n
		}
		u *= r.Float64()
		kind := 0
		for ; kind < len(pieces)-1 && u >= pieces[kind]; kind++ {
			u -= pieces[kind]
		}
		switch kind {
		case 0, 1:
			h.Grains++
			h.Empty++
		case 2:
			h.Grains++
			if r.Float64() < 0.8 {
				h.Empty++
			}
		case 3:
			if r.Float64() < 0.9 {
				h.Stones++
			}
		case 4:
			h.Stones++
		case 5:
			h.Grains++
			thin := at.share[immature] / 0.65 // by number: a thin kernel weighs 0.65 of a full one
			if r.Float64() < thin/(thin+1-at.share[immature]) && r.Float64() < 0.8 {
				h.Green++
			}
		}
	}
	h.Husked = min(50, h.Grains-h.Empty)
	for range h.Husked {
		at := &handfuls[r.IntN(len(handfuls))]
		u := r.Float64()
		switch b, d := at.share[bored], at.share[stained]; {
		case u < b:
			h.Bored++
		case u < b+d:
			h.Discoloured++
		case u < b+d+at.share[red]:
			h.Red++
		}
	}
	return h
}

// bitten is what a bitten grain or salt tells of water.
func bitten(r *rand.Rand, water float64) []grading.Flag {
	switch felt := water + 0.5*r.NormFloat64(); {
	case felt > 18:
		return []grading.Flag{grading.VeryWet}
	case felt > 15:
		return []grading.Flag{grading.TooWet}
	}
	return nil
}

// measuredByKit is a full check: 200 g of six bags, 400 grains, three readings of a
// checked meter.
func measuredByKit(r *rand.Rand, bags []paddy) grading.Readings {
	var at paddy
	for i := range bags {
		at.water += bags[i].water / float64(len(bags))
		for f := range fractions {
			at.share[f] += bags[i].share[f] / float64(len(bags))
		}
	}
	out := grading.Readings{Looked: grading.WasLooked, Meter: grading.Meter{Checked: true, Doubt: 0.15 * 1e4}}
	grams := func(x, step float64) grading.Decimal {
		return grading.Decimal(math.Round(math.Round(max(x, 0)/step) * step * 1e4))
	}
	pieces := func(total, mean float64) (sum float64) {
		for t := r.ExpFloat64(); t < total/mean; t += r.ExpFloat64() {
			sum += mean * (0.5 + r.Float64())
		}
		return sum
	}
	bias := 0.15 * r.NormFloat64()
	for range 3 {
		out.Repeats = append(out.Repeats, grams(at.water+bias+0.2*r.NormFloat64(), 0.1))
	}
	const sample = 200.0
	clean := sample * (1 - at.share[chaff] - at.share[stones])
	brown := 0.79 * clean
	out.Set(grading.SampleWeight, grams(sample, 0.01))
	out.Set(grading.Chaff, grams(pieces(sample*at.share[chaff], 0.007), 0.01))
	out.Set(grading.Stones, grams(pieces(sample*at.share[stones], 0.04), 0.01))
	out.Set(grading.CleanWeight, grams(clean, 0.01))
	out.Set(grading.BrownWeight, grams(brown, 0.01))
	out.Set(grading.ImmatureWeight, grams(min(pieces(brown*at.share[immature], 0.013), brown), 0.01))
	var seen [fractions]int
	const grains = 400
	for range grains {
		u := r.Float64()
		for f := bored; f < fractions; f++ {
			if u -= at.share[f]; u < 0 {
				seen[f]++
				break
			}
		}
	}
	out.Set(grading.Counted, grading.NewDecimal(grains))
	for f, field := range map[int]grading.Field{bored: grading.PestDamaged, stained: grading.Discoloured, red: grading.Red, other: grading.OtherVariety} {
		out.Set(field, grading.NewDecimal(seen[f]))
	}
	return out
}

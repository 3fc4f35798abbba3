package advice_test

import (
	"math"
	"testing"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/chance"
)

// brute weighs single remedies the long way round, with none of the engine's
// code: from the printed formulas, in floating point, on the six fields that
// the lots of aLot have.
type brute struct {
	t *testing.T
	c *advice.Case
	// assessors keep what the standards' tables lay out, lot after lot.
	assessors map[*grading.Standard]*chance.Assessor
	now       float64 // the lot as it is, once hasNow
	hasNow    bool
}

// assess grades readings with their chances. The result lasts until the next.
// tried is the chance of each grade or a better one.
func (b *brute) tried(r *grading.Readings) []float64 {
	a := b.assessors[b.c.Standard]
	if a == nil {
		var err error
		if a, err = chance.NewAssessor(b.c.Standard, chance.Certainty{}); err != nil {
			b.t.Fatal(err)
		}
		b.assessors[b.c.Standard] = a
	}
	a.Like(&b.c.Readings)
	would, err := a.Try(r)
	if err != nil {
		b.t.Fatal(err)
	}
	return would.OrBetter
}

// gone is what each remedy takes per pass: fields, low, middle, high. It is
// typed out again here so that a slip in the engine's table shows.
var gone = map[advice.RemedyID]struct{ chaff, stones [3]float64 }{
	advice.Winnow:     {chaff: [3]float64{0.75, 0.8836, 0.95}},
	advice.Sieve:      {stones: [3]float64{0.3, 0.6, 0.8}},
	advice.PickStones: {stones: [3]float64{0.5, 0.7, 0.9}},
	advice.Destone:    {stones: [3]float64{0.825, 0.91, 0.9975}},
	advice.SortByHand: {chaff: [3]float64{0.3, 0.5, 0.7}, stones: [3]float64{0.3, 0.5, 0.7}},
}

// hours are typed out again too: fixed, and per tonne.
var hours = map[advice.RemedyID][2]float64{
	advice.Winnow: {0, 2000.0 / 242}, advice.Sieve: {0, 8}, advice.PickStones: {0, 60}, advice.Destone: {2, 2},
	advice.SortByHand: {0, 70}, advice.DrySun: {2, 16}, advice.DryMachine: {2, 2},
}

func (b *brute) get(f grading.Field) float64 {
	d, _ := b.c.Readings.Get(f)
	return d.Float()
}

// offered reports whether a remedy is open to the lot at all.
func (b *brute) offered(id advice.RemedyID) bool {
	kg := b.c.KG.Float()
	_, tariff := b.c.Settings.Tariffs[id]
	switch id {
	case advice.DrySun:
		return kg <= 10000
	case advice.PickStones:
		return kg <= 100
	case advice.SortByHand:
		return kg <= 50
	case advice.Destone:
		return tariff || kg > 100
	case advice.DryMachine:
		return tariff || kg > 10000
	}
	return true
}

// target is where the engine says it dries to: half a point under the best
// grade's limit, or what the days of keeping ask for.
func (b *brute) target() float64 {
	limit := 13.5 // both tables have 14 in the best grade
	switch {
	case b.c.KeepDays > 120 && b.c.KeepDays <= 365:
		limit = 13
	}
	return limit
}

func (b *brute) wet() float64 {
	sum := 0.0
	for _, d := range b.c.Readings.Repeats {
		sum += d.Float()
	}
	return sum / float64(len(b.c.Readings.Repeats))
}

func dot4(x float64) grading.Decimal { return grading.Decimal(math.Round(x * 10000)) }

// after gives the lot as it would be, and the share of its weight that is left.
func (b *brute) after(id advice.RemedyID, level int) (r grading.Readings, left float64, applies bool) {
	r = b.c.Readings.Clone()
	whole, chaff, stones := b.get(grading.SampleWeight), b.get(grading.Chaff), b.get(grading.Stones)
	switch id {
	case advice.DrySun, advice.DryMachine:
		if b.wet() <= b.target() {
			return r, 1, false
		}
		left = (100 - b.wet()) / (100 - b.target())
		soft := (whole*left - stones) / (whole - stones)
		for _, f := range []grading.Field{grading.Chaff, grading.BrownWeight, grading.ImmatureWeight} {
			r.Set(f, dot4(b.get(f)*soft))
		}
		r.Set(grading.SampleWeight, dot4(whole*left))
		for i := range r.Repeats {
			r.Repeats[i] = dot4(b.target())
		}
		return r, left, true
	}
	out := gone[id].chaff[level]*chaff + gone[id].stones[level]*stones
	if out == 0 {
		return r, 1, false
	}
	r.Set(grading.Chaff, dot4(chaff*(1-gone[id].chaff[level])))
	r.Set(grading.Stones, dot4(stones*(1-gone[id].stones[level])))
	r.Set(grading.SampleWeight, dot4(whole-out))
	return r, 1 - out/whole, true
}

// worth is what a lot fetches, or less its mean rank. inMoney is decided once
// for the case.
func (b *brute) worth(r grading.Readings, left float64, inMoney bool) float64 {
	orBetter := b.tried(&r)
	n := len(b.c.Standard.Grades)
	chance := make([]float64, n+1) // of each rank
	under := 0.0
	for rank, upTo := range orBetter {
		chance[rank], under = upTo-under, upTo
	}
	chance[n] = 1 - under
	value, lowest := 0.0, 0.0
	for rank, p := range chance {
		if !inMoney {
			value -= p * float64(rank+1)
			continue
		}
		price := b.c.Settings.OutPrice.Float()
		if rank < n {
			price = b.c.Settings.Prices[b.c.Standard.Grades[rank].Label].Float()
			lowest = price
		} else if price == 0 {
			price = lowest
		}
		value += p * price
	}
	if !inMoney {
		return value
	}
	if len(b.c.Settings.Deductions) > 0 {
		sum := 0.0
		for _, d := range r.Repeats {
			sum += d.Float()
		}
		switch m := sum / float64(len(r.Repeats)); {
		case m > 19.00004:
			value = b.c.Settings.OutPrice.Float()
			if value == 0 {
				value = lowest
			}
		case m > 18.00004:
			value *= 0.98
		case m > 17.00004:
			value *= 0.99
		}
	}
	return value * b.c.KG.Float() * left
}

// gain is the expected gain of one pass of a remedy.
func (b *brute) gain(id advice.RemedyID, inMoney bool) (float64, bool) {
	if !b.hasNow {
		b.now, b.hasNow = b.worth(b.c.Readings, 1, inMoney), true
	}
	sum := 0.0
	for level, weight := range []float64{0.25, 0.5, 0.25} {
		r, left, applies := b.after(id, level)
		if !applies {
			return 0, false
		}
		sum += weight * (b.worth(r, left, inMoney) - b.now)
	}
	if inMoney {
		kg := b.c.KG.Float()
		sum -= (hours[id][0] + hours[id][1]*kg/1000) / 8 * b.c.Settings.DayWage.Float()
		if tariff, ok := b.c.Settings.Tariffs[id]; ok {
			sum -= tariff.Fixed.Float() + tariff.PerKG.Float()*kg
		}
	}
	return sum, true
}

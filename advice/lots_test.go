package advice_test

import (
	"math/rand/v2"
	"testing"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/standard/standardtest"
)

// book loads a built-in standard.
func book(t testing.TB, id string) *grading.Standard {
	t.Helper()
	s, err := standardtest.ByID(id)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// aLot makes an invented lot such as a hand kit measures: mostly ordinary, now
// and then wet, dirty, red, infested or smelling.
func aLot(rng *rand.Rand, s *grading.Standard) advice.Case {
	c := advice.Case{Standard: s}
	r := &c.Readings
	tenths := func(low, high float64) grading.Decimal {
		return grading.Decimal((low+rng.Float64()*(high-low))*10) * grading.One / 10
	}
	hundredths := func(high float64) grading.Decimal {
		return grading.Decimal(rng.Float64()*rng.Float64()*high*100) * grading.One / 100
	}
	wet := tenths(11, 17)
	if rng.IntN(12) == 0 {
		wet = tenths(17, 27)
	}
	for range 3 {
		r.Repeats = append(r.Repeats, wet+tenths(-0.2, 0.3))
	}
	sample := grading.NewDecimal([]int{20, 100, 200, 500}[rng.IntN(4)])
	r.Set(grading.SampleWeight, sample)
	r.Set(grading.Chaff, hundredths(sample.Float()*0.10))
	r.Set(grading.Stones, hundredths(sample.Float()*0.05))
	r.Set(grading.BrownWeight, grading.Decimal(sample.Float()*0.76*10)*grading.One/10)
	r.Set(grading.ImmatureWeight, hundredths(sample.Float()*0.08))
	counted := []int{100, 200, 400}[rng.IntN(3)]
	r.Set(grading.Counted, grading.NewDecimal(counted))
	for _, f := range []grading.Field{grading.PestDamaged, grading.Discoloured, grading.Red, grading.OtherVariety} {
		r.Set(f, grading.NewDecimal(int(rng.Float64()*rng.Float64()*0.08*float64(counted))))
	}
	r.Looked = grading.WasLooked
	r.Set(grading.LiveWeevils, 0)
	r.Set(grading.LiveOthers, 0)
	if rng.IntN(15) == 0 {
		r.Set(grading.LiveWeevils, grading.NewDecimal(rng.IntN(3)))
		r.Set(grading.LiveOthers, grading.NewDecimal(rng.IntN(6)))
	}
	if rng.IntN(20) == 0 {
		flags := []grading.Flag{grading.Musty, grading.Mouldy, grading.Warm, grading.TreatedSeed, grading.OffOdour}
		r.Flags = []grading.Flag{flags[rng.IntN(len(flags))]}
	}
	if rng.IntN(10) > 0 {
		c.KG = grading.NewDecimal([]int{20, 40, 80, 50 + rng.IntN(5000), 50 + rng.IntN(1000)}[rng.IntN(5)])
	}
	c.KeepDays = []int{0, 0, 0, 10, 90, 270}[rng.IntN(6)]
	return c
}

// priced gives the case invented prices, wages and tariffs.
func priced(rng *rand.Rand, c *advice.Case) {
	price := grading.NewDecimal(60)
	c.Settings.Prices = map[grading.GradeLabel]grading.Decimal{}
	for i := range c.Standard.Grades {
		c.Settings.Prices[c.Standard.Grades[i].Label] = price
		price -= grading.NewDecimal(1 + rng.IntN(6))
	}
	if rng.IntN(3) > 0 {
		c.Settings.OutPrice = price - grading.NewDecimal(rng.IntN(10))
	}
	c.Settings.DayWage = grading.NewDecimal(rng.IntN(3) * 150)
	if rng.IntN(2) == 0 {
		c.Settings.Tariffs = map[advice.RemedyID]advice.Tariff{
			advice.DryMachine: {PerKG: grading.One}, advice.Destone: {Fixed: grading.NewDecimal(50), PerKG: grading.One / 2},
		}
	}
	if rng.IntN(2) == 0 {
		c.Settings.Deductions = advice.TamilNadu2022()
	}
}

package advice

import (
	"math/rand/v2"
	"testing"

	g "threshline/grading"
	"threshline/grading/standard/standardtest"
)

// What is said to fall short does: weighed in full it never gains what it is held
// against, in steps or in money, one remedy or two, of lots that are dirty or wet.
func TestWhatFallsShortIsNotWorthIt(t *testing.T) {
	short, near := 0, 0
	for _, id := range []string{"agmark-paddy", "mbuyu-hand"} {
		s, err := standardtest.ByID(id)
		if err != nil {
			t.Fatal(err)
		}
		rng := rand.New(rand.NewPCG(18, 10))
		for n := range 1500 {
			c := Case{Standard: s, KG: g.NewDecimal(75 * (1 + rng.IntN(40)))}
			for range 3 {
				c.Readings.Repeats = append(c.Readings.Repeats, g.Decimal(110000+rng.IntN(70000)))
			}
			for f, most := range map[g.Field]int{g.Chaff: 260000, g.Stones: 80000, g.ImmatureWeight: 90000} {
				c.Readings.Set(f, g.Decimal(rng.IntN(most)))
			}
			c.Readings.Set(g.SampleWeight, g.NewDecimal(200))
			c.Readings.Set(g.BrownWeight, g.NewDecimal(152))
			if n%2 == 1 {
				c.Settings.Prices, c.Settings.OutPrice, c.Settings.DayWage = map[g.GradeLabel]g.Decimal{}, 30*g.One, 800*g.One
				for i := range s.Grades {
					c.Settings.Prices[s.Grades[i].Label] = g.NewDecimal(60 - 6*i)
				}
			}
			var v Adviser
			if a := &v.last; v.Assess(&c) == nil && a.begin(&c) {
				for _, rems := range [][]*Remedy{{RemedyOf(Winnow)}, {RemedyOf(Sieve)}, {RemedyOf(Destone)}, {RemedyOf(Winnow), RemedyOf(Sieve)}, {RemedyOf(Sieve), RemedyOf(DrySun)}} {
					once, twice := []int{1, 1}[:len(rems)], []int{2, 1}[:len(rems)]
					best, ok := a.weighSet(rems, once, state{})
					more, fine := a.weighSet(rems, twice, state{})
					if bar := best.gain + a.worth(); !ok || !fine || !a.fallsShort(rems, twice, bar) {
						near++
					} else if short++; more.gain > bar {
						t.Errorf("lot %d, %s and so on: gains %v, which was to fall short of %v", n, rems[0].ID, more.gain, bar)
					}
				}
			}
		}
	}
	if short < 500 || near < 100 {
		t.Errorf("%d fell short and %d came near: too few say anything", short, near)
	}
}

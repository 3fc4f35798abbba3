package advice_test

import (
	"math/rand/v2"
	"testing"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/chance"
)

// BenchmarkAdvise is the whole advice for one lot, of those that a season
// brings: alone, as it stands on the way of an exchange, and of many.
func BenchmarkAdvise(b *testing.B) {
	for _, id := range []string{"mbuyu-hand", "agmark-paddy"} {
		for _, money := range []bool{false, true} {
			name := id + "/steps"
			if money {
				name = id + "/money"
			}
			b.Run(name, func(b *testing.B) {
				rng, s := rand.New(rand.NewPCG(1, 2)), book(b, id)
				cases := make([]advice.Case, 256)
				for i := range cases {
					cases[i] = aLot(rng, s)
					if money {
						priced(rng, &cases[i])
					}
					var err error
					if cases[i].Result, err = chance.Assess(cases[i].Standard, cases[i].Readings, chance.Certainty{}); err != nil {
						b.Fatal(err)
					}
				}
				b.Run("alone", func(b *testing.B) {
					b.ReportAllocs()
					for i := 0; b.Loop(); i++ {
						advice.Advise(cases[i%len(cases)])
					}
				})
				b.Run("many", func(b *testing.B) {
					var many advice.Adviser
					b.ReportAllocs()
					for i := 0; b.Loop(); i++ {
						many.Advise(&cases[i%len(cases)])
					}
				})
			})
		}
	}
}

// BenchmarkAfter is one row of a what-if over a whole season.
func BenchmarkAfter(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 2))
	s := book(b, "agmark-paddy")
	lots := make([]grading.Readings, 256)
	for i := range lots {
		lots[i] = aLot(rng, s).Readings
	}
	for _, id := range []advice.RemedyID{advice.DrySun, advice.Winnow} {
		b.Run(string(id), func(b *testing.B) {
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				advice.After(s, lots[i%len(lots)], id)
			}
		})
	}
}

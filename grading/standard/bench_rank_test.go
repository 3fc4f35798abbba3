package standard_test

import (
	"math/rand/v2"
	"testing"

	"threshline/grading"
	"threshline/grading/standard"
)

// BenchmarkRank is what the ledger asks twenty times for each lot there is.
func BenchmarkRank(b *testing.B) {
	s, err := standard.ByID("agmark-paddy")
	if err != nil {
		b.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 1))
	lots := make([]grading.Readings, 1000)
	for i := range lots {
		lots[i] = anyReadings(rng, s)
	}
	e := grading.NewEvaluator(s)
	var res grading.Result
	b.Run("rank", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			_, _ = e.Rank(&lots[i%len(lots)])
		}
	})
	b.Run("grade", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			_ = e.Grade(&lots[i%len(lots)], &res)
		}
	})
}

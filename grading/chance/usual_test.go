package chance_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"threshline/grading"
	"threshline/grading/chance"
)

// ledgerOf is what a ledger would hold of a crop: samples, not compositions.
func ledgerOf(c crop, k kit, n int) []grading.Readings {
	r := rand.New(rand.NewPCG(simulationSeed, 8))
	lots := make([]grading.Readings, n)
	for i := range lots {
		lots[i] = sampleOf(r, c.draw(r), k)
	}
	return lots
}

// TestUsualIsLearntFromChecks: the mean and the deviation between lots come out
// of samples of 20 g and 100 grains, whose own scatter is as large.
func TestUsualIsLearntFromChecks(t *testing.T) {
	t.Logf("seed %d", simulationSeed)
	c := roughSeason()
	got := chance.UsualOf(ledgerOf(c, kit{20, 0.01, 100, 3}, 4000), chance.Certainty{})
	for f, want := range c.usual {
		u, ok := got[f]
		if !ok {
			t.Errorf("%s was not learnt", f)
			continue
		}
		if math.Abs(u.Mean-want.Mean) > 0.06*want.Mean || math.Abs(u.Deviation-want.Deviation) > 0.15*want.Deviation {
			t.Errorf("%s: %.3f deviating by %.3f, want %.3f by %.3f", f, u.Mean, u.Deviation, want.Mean, want.Deviation)
		}
	}
}

// TestWhatWasLearntCalibrates: with what 500 earlier checks taught, the chance
// of the grade comes true within 3 points in every fifth of the scale, and with
// 300, the fewest that a programme learns from, within 4; the very case where
// leaning on nothing is most off.
func TestWhatWasLearntCalibrates(t *testing.T) {
	c, k := cleanSeason(), kit{20, 0.01, 100, 3}
	for _, learnt := range []struct {
		from   int
		within float64
	}{{300, 4}, {500, 3}} {
		usual := chance.UsualOf(ledgerOf(c, k, learnt.from), chance.Certainty{})
		got := judge(t, c, k, chance.Certainty{Usual: usual})[0]
		gap, text := got.confidence.worst()
		t.Logf("from %d: worst fifth off by %+.1f points (%s), overall %+.1f", learnt.from, gap, text, got.confidence.overall())
		if math.Abs(gap) > learnt.within {
			t.Errorf("from %d off by %+.1f points: %s", learnt.from, gap, text)
		}
	}
}

// TestAFewLotsTeachNothing: nor does a field that nobody ever found.
func TestAFewLotsTeachNothing(t *testing.T) {
	k := kit{20, 0.01, 100, 3}
	if got := chance.UsualOf(ledgerOf(roughSeason(), k, 20), chance.Certainty{}); len(got) != 0 {
		t.Errorf("of 20 lots: %v", got)
	}
	lots := ledgerOf(roughSeason(), k, 100)
	for i := range lots {
		lots[i].Set(grading.Red, 0)
		lots[i].Unset(grading.Chaff)
	}
	got := chance.UsualOf(lots, chance.Certainty{})
	if _, ok := got[grading.Red]; ok {
		t.Error("red grains were never found")
	}
	if _, ok := got[grading.Chaff]; ok {
		t.Error("chaff was never weighed")
	}
	if _, ok := got[grading.Moisture]; !ok {
		t.Error("moisture was measured in 100 lots")
	}
}

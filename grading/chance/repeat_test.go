package chance_test

import (
	"math/rand/v2"
	"testing"

	"threshline/grading"
	"threshline/grading/chance"
)

// TestSamplesOfOneLotSeldomDiffer: of pairs of samples of one lot, about one in
// twenty differs at 0.05, per parameter, and never more than one in fourteen.
func TestSamplesOfOneLotSeldomDiffer(t *testing.T) {
	t.Logf("seed %d", simulationSeed)
	r, s, c := rand.New(rand.NewPCG(simulationSeed, 2)), agmark(t), roughSeason()
	const pairs = 4000
	far := map[grading.ParameterID]int{}
	for range pairs {
		lot := c.draw(r)
		k := kit{100, 0.01, 100, 3}
		got, err := chance.Differences(s, sampleOf(r, lot, k), sampleOf(r, lot, k), chance.Certainty{})
		if err != nil {
			t.Fatal(err)
		}
		if len(got) != len(s.Parameters) {
			t.Fatalf("%d differences, want %d", len(got), len(s.Parameters))
		}
		for _, d := range got {
			if d.Chance < 0.05 {
				far[d.Parameter]++
			}
		}
	}
	for _, p := range s.Parameters {
		share := float64(far[p.ID]) / pairs
		t.Logf("%s: %.1f %% differ", p.ID, 100*share)
		if share > 1.0/14 || share < 0.005 {
			t.Errorf("%s: %.1f %% of pairs of one lot differ at 0.05", p.ID, 100*share)
		}
	}
}

func TestSamplesOfTwoLotsDiffer(t *testing.T) {
	s := agmark(t)
	got, err := chance.Differences(s, readingsOf(t, checkedLot), readingsOf(t, `{"moisture":[14.6,14.5,14.7],"sample_g":200,"chaff_g":2.5,
		"stones_g":0.6,"counted":100,"red":22,"other_variety":0}`), chance.Certainty{})
	if err != nil {
		t.Fatal(err)
	}
	want := map[grading.ParameterID]bool{"moisture": true, "admixture": true, "foreign_matter": false}
	if len(got) != len(want) {
		t.Fatalf("differences: %+v", got)
	}
	for _, d := range got {
		if far := d.Chance < 0.05; far != want[d.Parameter] {
			t.Errorf("%s: %v against %v, chance %.4f", d.Parameter, d.First, d.Second, d.Chance)
		}
	}
}

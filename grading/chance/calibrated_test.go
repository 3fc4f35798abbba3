package chance_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"threshline/grading"
	"threshline/grading/chance"
	"threshline/grading/standard/standardtest"
)

// draws is how many lots each case draws.
var draws = standardtest.Rounds(12500)

// enough is how many draws a bin needs to be judged: its own deviation is then
// at most a point and a half.
const enough = 1200

// alike is the deviation of bags that are: these lots have none.
const alike = 1e-9

// judged is what a simulation found.
type judged struct {
	confidence bins
	covered    map[grading.ParameterID]float64 // share of lots inside the bounds
}

// judge draws lots, samples them, assesses each sample with every certainty,
// and compares.
func judge(t *testing.T, c crop, k kit, certainties ...chance.Certainty) []judged {
	t.Helper()
	t.Logf("seed %d", simulationSeed)
	s, r := agmark(t), rand.New(rand.NewPCG(simulationSeed, 1))
	exact := grading.NewEvaluator(s)
	out, assessors := make([]judged, len(certainties)), make([]*chance.Assessor, len(certainties))
	for i, certainty := range certainties {
		certainty.ScaleStep, certainty.BagDeviation = k.step, alike
		a, err := chance.NewAssessor(s, certainty)
		if err != nil {
			t.Fatal(err)
		}
		assessors[i], out[i].covered = a, make(map[grading.ParameterID]float64)
	}
	var res, own grading.Result
	for range draws {
		lot := c.draw(r)
		readings := sampleOf(r, lot, k)
		truth(t, exact, lot, &own)
		for i, a := range assessors {
			if err := a.Assess(&readings, &res); err != nil {
				t.Fatal(err)
			}
			out[i].add(&res, &own)
		}
	}
	return out
}

func (j *judged) add(res, own *grading.Result) {
	j.confidence.add(res.Confidence, res.Rank == own.Rank)
	for i := range res.Parameters {
		p := &res.Parameters[i]
		if v := own.Parameters[i].Value.Float(); v >= p.Low && v <= p.High {
			j.covered[p.ID] += 1 / float64(draws)
		}
	}
}

// bins compare stated chances with what came true, a fifth each.
type bins [5]struct{ draws, stated, came float64 }

func (b *bins) add(stated float64, came bool) {
	one := &b[min(int(stated*5), 4)]
	one.draws++
	one.stated += stated
	if came {
		one.came++
	}
}

// worst is the largest gap, in points of 100, between stated and come true.
func (b *bins) worst() (gap float64, text string) {
	for _, one := range b {
		if one.draws < enough {
			continue
		}
		if d := 100 * (one.came - one.stated) / one.draws; math.Abs(d) >= math.Abs(gap) {
			gap, text = d, fmt.Sprintf("stated %.3f, came true in %.3f of %.0f", one.stated/one.draws, one.came/one.draws, one.draws)
		}
	}
	return gap, text
}

// overall is the gap over all draws, in points of 100.
func (b *bins) overall() float64 {
	stated, came := 0.0, 0.0
	for _, one := range b {
		stated, came = stated+one.stated, came+one.came
	}
	return 100 * (came - stated) / float64(draws)
}

var kits = []kit{{20, 0.01, 100, 3}, {200, 0.1, 400, 5}}

// TestChanceOfTheGradeIsCalibrated: where the crop is known, of all lots that
// were given their grade with a chance of 70 %, 70 % have it, within 3 points,
// in every fifth of the scale. Of an unknown crop the chance is on the whole
// never more than 5 points too sure nor 10 too modest, whatever the crop: see
// TestThePromiseOfTheChances for those that it is stated for.
func TestChanceOfTheGradeIsCalibrated(t *testing.T) {
	if testing.Short() {
		t.Skip("takes many lots")
	}
	for _, c := range []crop{cleanSeason(), roughSeason(), evenSpread()} {
		for _, k := range kits {
			t.Run(fmt.Sprintf("%s, %v g, %d grains", c.name, k.grams, k.grains), func(t *testing.T) {
				certainties := []chance.Certainty{{}}
				if c.usual != nil {
					certainties = append(certainties, chance.Certainty{Usual: c.usual})
				}
				got := judge(t, c, k, certainties...)
				got[0].holdsOnTheWhole(t)
				for _, known := range got[1:] {
					known.holdsByFifths(t)
				}
			})
		}
	}
}

func (j *judged) holdsByFifths(t *testing.T) {
	t.Helper()
	gap, text := j.confidence.worst()
	t.Logf("the crop known: worst fifth off by %+.1f points (%s), overall %+.1f", gap, text, j.confidence.overall())
	if math.Abs(gap) > 3 {
		t.Errorf("the crop known: off by %+.1f points: %s", gap, text)
	}
}

func (j *judged) holdsOnTheWhole(t *testing.T) {
	t.Helper()
	gap, text := j.confidence.worst()
	t.Logf("overall %+.1f points; worst fifth off by %+.1f points (%s)", j.confidence.overall(), gap, text)
	if gap := j.confidence.overall(); gap < -5 || gap > 10 {
		t.Errorf("off by %+.1f points on the whole", j.confidence.overall())
	}
	for id, share := range j.covered {
		t.Logf("%s: %.1f %% of lots inside the bounds", id, 100*share)
		if share < 0.94 {
			t.Errorf("%s: only %.1f %% of lots inside the 95 %% bounds", id, 100*share)
		}
	}
}

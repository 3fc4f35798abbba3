package chance_test

import (
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"threshline/grading"
	"threshline/grading/chance"
	"threshline/grading/standard"
)

func agmark(t testing.TB) *grading.Standard {
	t.Helper()
	s, err := standard.ByID("agmark-paddy")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func readingsOf(t testing.TB, text string) grading.Readings {
	t.Helper()
	var r grading.Readings
	if err := json.Unmarshal([]byte(text), &r); err != nil {
		t.Fatal(err)
	}
	return r
}

func assess(t testing.TB, s *grading.Standard, text string, c chance.Certainty) grading.Result {
	t.Helper()
	res, err := chance.Assess(s, readingsOf(t, text), c)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

// checkedLot is a lot of grade II by foreign matter; %s takes more readings.
const checkedLot = `{"moisture":[13.2,13.1,13.3],"sample_g":200,"chaff_g":2.4,"stones_g":0.6,
	"brown_g":155.2,"immature_g":0.1,"counted":100,"pest_damaged":0,"discoloured":0,"red":2,"other_variety":0}`

func TestAssessAddsToGradeAndChangesNothingOfIt(t *testing.T) {
	s := agmark(t)
	graded, err := grading.Grade(s, readingsOf(t, checkedLot))
	if err != nil {
		t.Fatal(err)
	}
	res := assess(t, s, checkedLot, chance.Certainty{})
	if res.Grade != graded.Grade || res.Rank != graded.Rank || res.Complete != graded.Complete {
		t.Errorf("assessed %v rank %d, graded %v rank %d", res.Grade, res.Rank, graded.Grade, graded.Rank)
	}
	for i := range res.Parameters {
		v := &res.Parameters[i]
		if v.Value.CmpRatio(graded.Parameters[i].Value) != 0 {
			t.Errorf("%s: value changed", v.ID)
		}
		if at := v.Value.Float(); at < v.Low || at > v.High {
			t.Errorf("%s: %v lies outside its bounds %v to %v", v.ID, at, v.Low, v.High)
		}
		for rank := 1; rank < len(v.ByRank); rank++ {
			if v.ByRank[rank] < v.ByRank[rank-1] {
				t.Errorf("%s: a wider limit is met with less chance: %v", v.ID, v.ByRank)
			}
		}
	}
	if sum := res.Confidence + res.Better; res.Confidence <= 0 || sum > 1+1e-12 {
		t.Errorf("confidence %v, better %v", res.Confidence, res.Better)
	}
}

// TestCountBoundsOfAResult: the bounds of a counted parameter are the
// published ones for 2 of 100, [NIST-PRC242].
func TestCountBoundsOfAResult(t *testing.T) {
	v := assess(t, agmark(t), checkedLot, chance.Certainty{})
	a := v.Parameter("admixture")
	if math.Abs(a.Low-0.2431) > 5e-5 || math.Abs(a.High-7.0384) > 5e-5 {
		t.Errorf("2 of 100: %v to %v %%, want 0.2431 to 7.0384", a.Low, a.High)
	}
}

// TestAtTheLimitTheOddsAreEven: what was measured right at a limit leaves even
// odds, in counts, weights and moisture.
func TestAtTheLimitTheOddsAreEven(t *testing.T) {
	s := agmark(t)
	for name, text := range map[string]string{
		"5 of 100 red":       `{"counted":100,"red":5,"other_variety":0}`,
		"20 of 400 red":      `{"counted":400,"red":20,"other_variety":0}`,
		"30 of 100 red":      `{"counted":100,"red":30,"other_variety":0}`,
		"2 g of 200 g chaff": `{"sample_g":200,"chaff_g":2,"stones_g":0}`,
		"14 % moisture":      `{"moisture":[14,14,14]}`,
	} {
		res := assess(t, s, text, chance.Certainty{Alone: true})
		for i := range res.Parameters {
			v := &res.Parameters[i]
			if !v.Measured {
				continue
			}
			rank := min(v.Rank, len(v.ByRank))
			if d := v.ByRank[rank-1] - 0.5; math.Abs(d) > 0.06 {
				t.Errorf("%s: chance of the limit %.3f, want about 0.5", name, v.ByRank[rank-1])
			}
		}
	}
}

// TestAMissingReadingLeavesNoChance: "no better than" has no chance of its own.
func TestAMissingReadingLeavesNoChance(t *testing.T) {
	res := assess(t, agmark(t), `{"moisture":[13.2],"sample_g":200,"chaff_g":2.4,"stones_g":0.6}`, chance.Certainty{})
	if res.Complete || res.Confidence != 0 || res.Better != 0 {
		t.Errorf("complete %v, confidence %v, better %v", res.Complete, res.Confidence, res.Better)
	}
}

// TestWhatWasSmeltIsTakenAsSmelt: a gate by a flag leaves no doubt.
func TestWhatWasSmeltIsTakenAsSmelt(t *testing.T) {
	res := assess(t, agmark(t), checkedLot[:len(checkedLot)-1]+`,"flags":["musty"]}`, chance.Certainty{})
	if !res.OutOfGrade() || res.Confidence != 1 || res.Better != 0 {
		t.Errorf("grade %v, confidence %v, better %v", res.Grade, res.Confidence, res.Better)
	}
}

// TestMoreOfTheSameIsSurer: the same shares on more sample narrow the bounds.
func TestMoreOfTheSameIsSurer(t *testing.T) {
	s := agmark(t)
	few := assess(t, s, `{"moisture":[13.5],"sample_g":20,"chaff_g":0.3,"stones_g":0.1,"brown_g":16,"immature_g":0.2,
		"counted":100,"pest_damaged":1,"discoloured":1,"red":6,"other_variety":1}`, chance.Certainty{})
	many := assess(t, s, `{"moisture":[13.5,13.5,13.5],"sample_g":200,"chaff_g":3,"stones_g":1,"brown_g":160,"immature_g":2,
		"counted":400,"pest_damaged":4,"discoloured":4,"red":24,"other_variety":4}`, chance.Certainty{})
	for i := range few.Parameters {
		a, b := &few.Parameters[i], &many.Parameters[i]
		if b.High-b.Low >= a.High-a.Low {
			t.Errorf("%s: %.3f wide on little, %.3f on much", a.ID, a.High-a.Low, b.High-b.Low)
		}
	}
}

func TestCertaintyRefusesWhatCannotBe(t *testing.T) {
	for name, c := range map[string]chance.Certainty{
		"a negative step":     {ScaleStep: -0.1},
		"no number":           {MeterRepeatability: math.NaN()},
		"an endless grain":    {GrainWeight: math.Inf(1)},
		"usual without width": {Usual: map[grading.Field]chance.Usual{grading.Red: {Mean: 2}}},
	} {
		if _, err := chance.Assess(agmark(t), readingsOf(t, checkedLot), c); !errors.Is(err, chance.ErrCertainty) {
			t.Errorf("%s: %v, want ErrCertainty", name, err)
		}
	}
}

func assessor(t testing.TB, s *grading.Standard) *chance.Assessor {
	t.Helper()
	a, err := chance.NewAssessor(s, chance.Certainty{})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func manyLots(n int) []grading.Readings {
	r := rand.New(rand.NewPCG(simulationSeed, 1))
	lots := make([]grading.Readings, n)
	for i := range lots {
		lots[i] = sampleOf(r, roughSeason().draw(r), kit{20, 0.01, 100, 3})
	}
	return lots
}

// BenchmarkAssess is one lot, of many, with all that is said of it.
func BenchmarkAssess(b *testing.B) {
	a, lots := assessor(b, agmark(b)), manyLots(1000)
	var res grading.Result
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		if err := a.Assess(&lots[i%len(lots)], &res); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkTry is the same as a lot after a remedy is tried, never seen before.
func BenchmarkTry(b *testing.B) {
	a, lots := assessor(b, agmark(b)), manyLots(1000)
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		if _, err := a.Try(&lots[i%len(lots)]); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkAssessOne is one lot alone, as a dialogue assesses it.
func BenchmarkAssessOne(b *testing.B) {
	s, lots := agmark(b), manyLots(1000)
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		if _, err := chance.Assess(s, lots[i%len(lots)], chance.Certainty{}); err != nil {
			b.Fatal(err)
		}
	}
}

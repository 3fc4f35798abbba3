package chance_test

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"threshline/grading"
	"threshline/grading/chance"
	"threshline/grading/standard"
	"threshline/grading/standard/standardtest"
)

// builtin is every shipped standard.
func builtin(t *testing.T) []*grading.Standard {
	t.Helper()
	all, err := standard.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	if len(all) == 0 {
		t.Fatal("no standard is shipped")
	}
	return all
}

// TestChancesOfAllStandards: whatever the rule of combination, chances are
// chances, better grades are never likelier to be reached than worse ones, the
// bounds hold the value, and a second run gives the same.
func TestChancesOfAllStandards(t *testing.T) {
	t.Logf("seed %d", simulationSeed)
	r := rand.New(rand.NewPCG(simulationSeed, 5))
	for _, s := range builtin(t) {
		open := 0
		for range 600 {
			readings := standardtest.NearLimits(r, s)
			res, err := chance.Assess(s, readings, chance.Certainty{})
			if err != nil {
				continue // parts that exceed their whole
			}
			if sum := res.Confidence + res.Better; res.Confidence < 0 || res.Better < 0 || sum > 1+1e-9 || math.IsNaN(sum) {
				t.Fatalf("%s: confidence %v, better %v", s.ID, res.Confidence, res.Better)
			}
			if res.Confidence > 0.01 && res.Confidence < 0.99 {
				open++
			}
			for i := range res.Parameters {
				checkChances(t, s, &res.Parameters[i])
			}
			again, err := chance.Assess(s, readings, chance.Certainty{})
			if err != nil || !reflect.DeepEqual(res, again) {
				t.Fatalf("%s: a second run differs: %v", s.ID, err)
			}
		}
		if open == 0 {
			t.Errorf("%s: no lot was in doubt: the test says nothing", s.ID)
		}
	}
}

func checkChances(t *testing.T, s *grading.Standard, v *grading.ParameterResult) {
	if !v.Measured {
		return
	}
	if x := v.Value.Float(); v.Unit != grading.Word && (x < v.Low-1e-9 || x > v.High+1e-9) {
		t.Fatalf("%s %s: %v outside %v to %v", s.ID, v.ID, x, v.Low, v.High)
	}
	for _, c := range v.ByRank {
		if c < 0 || c > 1 || math.IsNaN(c) {
			t.Fatalf("%s %s: chances %v", s.ID, v.ID, v.ByRank)
		}
	}
	if v.Rank >= 1 && v.Rank <= len(v.ByRank) && v.Meets != v.ByRank[v.Rank-1] {
		t.Fatalf("%s %s: meets %v, by rank %v", s.ID, v.ID, v.Meets, v.ByRank)
	}
}

// TestMatrixChancesAddUp: W2 of the Indonesian guide, moisture 15.02 and empty
// grain and dirt 4.12 %, is class GKP [INPRES-3-2012], and almost surely so; a
// lot in the corner of four cells is not sure of any.
func TestMatrixChancesAddUp(t *testing.T) {
	s, err := standard.ByID("inpres-3-2012")
	if err != nil {
		t.Fatal(err)
	}
	sure := assess(t, s, `{"values":{"moisture":15.02,"empty_and_dirt":4.12}}`, chance.Certainty{})
	if sure.Grade != "GKP" || sure.Confidence < 0.99 || sure.Borderline {
		t.Errorf("%v, confidence %v, borderline %v", sure.Grade, sure.Confidence, sure.Borderline)
	}
	corner := assess(t, s, `{"values":{"moisture":14,"empty_and_dirt":3}}`, chance.Certainty{})
	// GKG needs both axes under their limit: a half of a half.
	if corner.Grade != "GKG" || math.Abs(corner.Confidence-0.25) > 0.03 || !corner.Borderline {
		t.Errorf("%v, confidence %v, borderline %v", corner.Grade, corner.Confidence, corner.Borderline)
	}
}

// TestLeadAloneGivesTheChance: under a lead rule the other limits are remarks
// and take nothing from the chance of the grade.
func TestLeadAloneGivesTheChance(t *testing.T) {
	s, err := standard.ByID("gb1350-indica")
	if err != nil {
		t.Fatal(err)
	}
	good := `"husked_yield":78,"impurities":0.2,"yellow":0.1,"husked_grains":0.2,"other_kinds":0.5,"head_rice":60`
	dry := assess(t, s, `{"values":{`+good+`,"moisture":12}}`, chance.Certainty{})
	wet := assess(t, s, `{"values":{`+good+`,"moisture":15}}`, chance.Certainty{})
	if dry.Grade != wet.Grade || math.Abs(dry.Confidence-wet.Confidence) > 1e-9 || dry.Confidence < 0.5 {
		t.Errorf("dry %v %v, wet %v %v", dry.Grade, dry.Confidence, wet.Grade, wet.Confidence)
	}
}

// TestAGateByALimitHasItsChance: moisture right at the gate's limit of 14.5 %
// [CFR-868 §868.261] leaves even odds of Sample grade, less the little that is
// open where nothing was found in 500 g.
func TestAGateByALimitHasItsChance(t *testing.T) {
	s, err := standard.ByID("us-brown-rice")
	if err != nil {
		t.Fatal(err)
	}
	clean := `"paddy_percent":0,"paddy_count":0,"seeds_heat_damaged":0,"heat_damaged":0,"objectionable_seeds":0,"red_damaged":0,
		"chalky":0,"broken":0,"other_types":0,"well_milled":0,"related_material":0,"unrelated_material":0`
	for _, c := range []struct {
		moisture string
		grade    grading.GradeLabel
		ladder   float64 // chance of a numbered grade
	}{{"13", "U.S. No. 1", 1}, {"14.5", "U.S. No. 1", 0.5}, {"16", "U.S. Sample grade", 0}} {
		res := assess(t, s, `{"values":{`+clean+`,"moisture":`+c.moisture+`}}`, chance.Certainty{})
		ladder := res.Confidence
		if res.OutOfGrade() {
			ladder = res.Better
		}
		if res.Grade != c.grade || math.Abs(ladder-c.ladder) > 0.15 {
			t.Errorf("%s %%: %v, chance of a numbered grade %v, want %v about %v", c.moisture, res.Grade, ladder, c.grade, c.ladder)
		}
	}
}

// TestWildReadingsGiveChances: whatever readings Grade accepts, and whatever
// the kit, bounds and chances are numbers, and the dialogue's other questions
// do not fail either.
func TestWildReadingsGiveChances(t *testing.T) {
	t.Logf("seed %d", simulationSeed)
	r := rand.New(rand.NewPCG(simulationSeed, 7))
	accepted := 0
	for _, s := range builtin(t) {
		for range 1500 {
			readings := wild(r)
			c := chance.Certainty{ScaleStep: []float64{0, 0.0001, 0.1, 5}[r.IntN(4)], MeterRepeatability: []float64{0, 1e-6, 3}[r.IntN(3)]}
			if r.IntN(3) == 0 {
				c.Usual = map[grading.Field]chance.Usual{grading.Red: {Mean: 0.01, Deviation: 5}, grading.Chaff: {Mean: 50, Deviation: 0.001},
					grading.OtherVariety: {Mean: 1, Deviation: 1}, grading.Moisture: {Mean: 14, Deviation: 0.1}}
			}
			grading.Doubts(s, readings)
			res, err := chance.Assess(s, readings, c)
			if err != nil {
				continue
			}
			accepted++
			for i := range res.Parameters {
				v := &res.Parameters[i]
				checkChances(t, s, v)
				if math.IsNaN(v.Low) || math.IsInf(v.High, 0) || v.Low > v.High || v.Low < 0 {
					t.Fatalf("%s %s: bounds %v to %v of %+v", s.ID, v.ID, v.Low, v.High, readings)
				}
			}
		}
	}
	if accepted < 1000 {
		t.Errorf("only %d lots were accepted", accepted)
	}
}

// wild is readings of any size, each field present or not.
func wild(r *rand.Rand) grading.Readings {
	var out grading.Readings
	size := func() float64 { return math.Exp(r.Float64()*20 - 9) } // 0.0001 to 60,000
	for range r.IntN(4) {
		out.Repeats = append(out.Repeats, grading.Decimal(r.Int64N(40*int64(grading.One))))
	}
	whole := size()
	for _, f := range grading.Fields() {
		if f == grading.Moisture || f == grading.SandWeight || r.IntN(4) == 0 { // sand is of stones, and in no parameter
			continue
		}
		x := whole
		switch {
		case r.IntN(5) == 0:
			x = 0
		case f != grading.SampleWeight && f != grading.Counted:
			x *= r.Float64()
		}
		d := grading.Decimal(x * float64(grading.One))
		if f.Kind() == grading.CountField {
			d = grading.NewDecimal(int(x))
		}
		out.Set(f, d)
	}
	return out
}

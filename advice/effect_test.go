package advice_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"threshline/advice"
	"threshline/grading"
)

// pan are the fields that nothing done to a lot changes.
var pan = []grading.Field{grading.Counted, grading.PestDamaged, grading.Discoloured, grading.Red, grading.OtherVariety, grading.Cracked}

func near(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance }

func TestRemediesInventNoWeightAndMendNothingInsideTheHusk(t *testing.T) {
	const seed1, seed2 = 7, 11
	t.Logf("seed %d, %d", seed1, seed2)
	rng := rand.New(rand.NewPCG(seed1, seed2))
	s := book(t, "mbuyu-hand")
	applied := map[advice.RemedyID]int{}
	for n := range 2000 {
		r := aLot(rng, s).Readings
		before, _ := r.MarshalJSON()
		for _, rem := range advice.Remedies() {
			after, factor, applies := advice.After(s, r, rem.ID)
			if !applies {
				if factor != 1 {
					t.Fatalf("lot %d, %s: does not apply, yet the weight is %v of what it was", n, rem.ID, factor)
				}
				continue
			}
			applied[rem.ID]++
			if factor <= 0 || factor > 1 {
				t.Fatalf("lot %d, %s: weight is %v of what it was", n, rem.ID, factor)
			}
			checkWeights(t, &r, &after, factor, rem.ID)
			for _, f := range pan {
				was, had := r.Get(f)
				is, has := after.Get(f)
				if was != is || had != has {
					t.Fatalf("lot %d, %s: %s went from %s to %s", n, rem.ID, f, was, is)
				}
			}
			if after.MeanMoisture().CmpRatio(r.MeanMoisture()) > 0 {
				t.Fatalf("lot %d, %s: moisture rose", n, rem.ID)
			}
			if _, err := grading.Grade(s, after); err != nil {
				t.Fatalf("lot %d, %s: %v", n, rem.ID, err)
			}
		}
		if same, _ := r.MarshalJSON(); string(same) != string(before) {
			t.Fatalf("lot %d: the readings handed in were changed", n)
		}
	}
	for _, id := range []advice.RemedyID{advice.DrySun, advice.Winnow, advice.Sieve, advice.PickStones, advice.Destone, advice.SortByHand} {
		if applied[id] < 20 {
			t.Errorf("%s applied to %d lots only", id, applied[id])
		}
	}
}

// checkWeights holds the sample to the lot's factor, and the immature share of
// the brown rice to what it was: thin grains inside the husk stay.
func checkWeights(t *testing.T, r, after *grading.Readings, factor float64, id advice.RemedyID) {
	t.Helper()
	get := func(r *grading.Readings, f grading.Field) float64 { d, _ := r.Get(f); return d.Float() }
	if was, is := get(r, grading.SampleWeight), get(after, grading.SampleWeight); !near(is, was*factor, 3e-4) {
		t.Fatalf("%s: sample of %v g is %v g, want %v", id, was, is, was*factor)
	}
	if was, is := get(r, grading.ImmatureWeight)/get(r, grading.BrownWeight), get(after, grading.ImmatureWeight)/get(after, grading.BrownWeight); !near(was, is, 2e-5) {
		t.Fatalf("%s: immature share went from %v to %v", id, was, is)
	}
	rest := func(r *grading.Readings) float64 {
		return get(r, grading.SampleWeight) - get(r, grading.Chaff) - get(r, grading.Stones)
	}
	if rem := advice.RemedyOf(id); !rem.Dries && !near(rest(r), rest(after), 3e-4) {
		t.Fatalf("%s: grain went from %v to %v g", id, rest(r), rest(after))
	}
	if get(after, grading.Stones) > get(r, grading.Stones) || get(after, grading.Chaff) > get(r, grading.Chaff) {
		t.Fatalf("%s: foreign matter appeared", id)
	}
	if rem := advice.RemedyOf(id); rem.Dries && get(after, grading.Stones) != get(r, grading.Stones) {
		t.Fatalf("%s: stones dried", id)
	}
}

// Winnowing 5 g of chaff out of 200 g, at the 88.36 % of [CRRI-WINNOW], leaves
// 0.582 g in 195.582 g; and what was 1 g of stones in 200 is 1 in 195.582.
func TestWinnowingRebasesTheRest(t *testing.T) {
	var r grading.Readings
	r.Set(grading.SampleWeight, dec(t, "200"))
	r.Set(grading.Chaff, dec(t, "5"))
	r.Set(grading.Stones, dec(t, "1"))
	after, factor, applies := advice.After(book(t, "mbuyu-hand"), r, advice.Winnow)
	if !applies || !near(factor, 195.582/200, 1e-9) {
		t.Fatalf("weight %v of what it was, %v", factor, applies)
	}
	for f, want := range map[grading.Field]string{grading.Chaff: "0.582", grading.Stones: "1", grading.SampleWeight: "195.582"} {
		if got, _ := after.Get(f); got != dec(t, want) {
			t.Errorf("%s = %s, want %s", f, got, want)
		}
	}
}

// 25 % to 13.5 % leaves 75/86.5 of the weight ([IRRI-MC]); the stones stay, so
// 1 % of stones becomes 86.5/75 %.
func TestDryingRaisesTheShareOfStones(t *testing.T) {
	s := book(t, "mbuyu-hand")
	var r grading.Readings
	r.Repeats = []grading.Decimal{dec(t, "25"), dec(t, "25")}
	r.Set(grading.SampleWeight, dec(t, "200"))
	r.Set(grading.Stones, dec(t, "2"))
	r.Set(grading.Chaff, 0)
	after, factor, applies := advice.After(s, r, advice.DrySun)
	if !applies || !near(factor, 75/86.5, 1e-12) {
		t.Fatalf("weight %v of what it was, %v", factor, applies)
	}
	res, err := grading.Grade(s, after)
	if err != nil {
		t.Fatal(err)
	}
	if got := res.Parameter("stones").Value.Float(); !near(got, 86.5/75, 1e-4) {
		t.Errorf("stones are %v %%, want %v", got, 86.5/75)
	}
	if got := res.Parameter("moisture").Shown; got != dec(t, "13.5") {
		t.Errorf("moisture is %s", got)
	}
}

// A laboratory's percentages change as the weights would.
func TestDirectValuesFollowTheWeights(t *testing.T) {
	s := book(t, "mbuyu-hand")
	var weights, values grading.Readings
	weights.Repeats = []grading.Decimal{dec(t, "20")}
	weights.Set(grading.SampleWeight, dec(t, "200"))
	weights.Set(grading.Chaff, dec(t, "6"))
	weights.Set(grading.Stones, dec(t, "3"))
	values.Values = map[grading.ParameterID]grading.Decimal{
		"moisture": dec(t, "20"), "chaff": dec(t, "3"), "stones": dec(t, "1.5"), "red": dec(t, "4"),
	}
	for _, id := range []advice.RemedyID{advice.DrySun, advice.Winnow, advice.Sieve, advice.Destone, advice.SortByHand} {
		m, mf, ok1 := advice.After(s, weights, id)
		v, vf, ok2 := advice.After(s, values, id)
		if !ok1 || !ok2 || !near(mf, vf, 1e-9) {
			t.Fatalf("%s: weight %v, %v and %v, %v", id, mf, ok1, vf, ok2)
		}
		res, err := grading.Grade(s, m)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range []grading.ParameterID{"moisture", "chaff", "stones"} {
			if a, b := res.Parameter(p).Value.Float(), v.Values[p].Float(); !near(a, b, 3e-4) {
				t.Errorf("%s: %s is %v from weights, %v given directly", id, p, a, b)
			}
		}
		if v.Values["red"] != dec(t, "4") {
			t.Errorf("%s: red went to %s", id, v.Values["red"])
		}
	}
	if values.Values["chaff"] != dec(t, "3") {
		t.Error("the values handed in were changed")
	}
}

// A purity, 100 less the foreign matter, rises by cleaning.
func TestComplementsRise(t *testing.T) {
	s := book(t, "ph-paddy")
	i := slices.IndexFunc(s.Parameters, func(p grading.Parameter) bool { return p.Constant == 100*grading.One })
	if i < 0 {
		t.Fatal("no complement in ph-paddy")
	}
	id := s.Parameters[i].ID
	r := grading.Readings{Values: map[grading.ParameterID]grading.Decimal{id: dec(t, "95")}}
	after, factor, applies := advice.After(s, r, advice.Winnow)
	// Half of the 5 % is taken as light, 88.36 % of that goes.
	out := 0.05 * 0.5 * 0.8836
	want := 100 - 100*(0.05-out)/(1-out)
	if !applies || !near(factor, 1-out, 1e-9) || !near(after.Values[id].Float(), want, 2e-4) {
		t.Errorf("%s = %v, factor %v, %v, want %v", id, after.Values[id], factor, applies, want)
	}
}

func TestSeasonRemediesActOnTheNextLotOnly(t *testing.T) {
	s := book(t, "mbuyu-hand")
	var r grading.Readings
	r.Set(grading.Counted, dec(t, "100"))
	r.Set(grading.Red, dec(t, "7"))
	if after, factor, applies := advice.After(s, r, advice.BetterSeed); applies || factor != 1 {
		t.Errorf("better seed mended this lot: %v, %v", after, factor)
	}
	next, applies := advice.NextLot(s, r, advice.BetterSeed)
	if got, _ := next.Get(grading.Red); !applies || got != dec(t, "2") { // 7 x 0.2, rounded up
		t.Errorf("next lot has %s red, %v", got, applies)
	}
	if _, applies := advice.NextLot(s, r, advice.Winnow); applies {
		t.Error("winnowing this lot cleaned the next")
	}
	if _, applies := advice.NextLot(s, r, advice.HarvestInTime); applies {
		t.Error("a harvest in time changed a lot without immature grains")
	}
	if _, _, applies := advice.After(s, r, "no such"); applies {
		t.Error("an unknown remedy applied")
	}
	if _, _, applies := advice.After(nil, r, advice.Winnow); applies {
		t.Error("a remedy applied without a standard")
	}
}

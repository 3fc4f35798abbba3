package advice_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/chance"
	"threshline/grading/standard"
)

// anyReadings fills what a standard asks for with what can be, straight from a
// laboratory or from hand readings.
func anyReadings(rng *rand.Rand, s *grading.Standard) grading.Readings {
	r := aLot(rng, s).Readings
	r.Flags = slices.DeleteFunc(r.Flags, func(grading.Flag) bool { return rng.IntN(2) == 0 })
	if len(s.Classes) > 0 && rng.IntN(4) > 0 {
		r.Class = s.Classes[rng.IntN(len(s.Classes))]
	}
	for i := range s.Parameters {
		p := &s.Parameters[i]
		switch {
		case p.Unit == grading.Word:
			r.Words = map[grading.ParameterID]string{p.ID: p.Words[rng.IntN(len(p.Words))]}
		case p.PartOf == "" && (len(p.Terms) == 0 || rng.IntN(4) == 0):
			if r.Values == nil {
				r.Values = map[grading.ParameterID]grading.Decimal{}
			}
			value := grading.Decimal(rng.Float64() * rng.Float64() * 20 * float64(grading.One)).Round(2)
			if p.Constant != 0 || p.Unit == grading.PercentWeight && p.Basis == grading.OfClean {
				value = 100*grading.One - value
			}
			r.Values[p.ID] = value
		}
	}
	return r
}

// Whatever the standard and its rule of combination: each remedy is considered
// once, the best is the first, reasons are of the list, cautions are whole,
// and no money or weight comes from nowhere.
func TestAdviceHoldsByEveryShippedStandard(t *testing.T) {
	const seed1, seed2 = 99, 3
	t.Logf("seed %d, %d", seed1, seed2)
	rng := rand.New(rand.NewPCG(seed1, seed2))
	books, err := standard.Builtin()
	if err != nil || len(books) == 0 {
		t.Fatal(len(books), err)
	}
	for _, s := range books {
		t.Run(s.ID, func(t *testing.T) {
			graded := 0
			for range 150 {
				c := aLot(rng, s)
				c.Readings = anyReadings(rng, s)
				if rng.IntN(2) == 0 {
					priced(rng, &c)
				}
				if c.Result, err = chance.Assess(s, c.Readings, c.Settings.Certainty()); err != nil {
					if got := advice.Advise(c); got.Best.Remedy != "" || len(got.Considered) != 0 {
						t.Fatalf("advice on refused readings: %+v", got)
					}
					continue
				}
				graded++
				holds(t, &c)
			}
			if graded < 30 {
				t.Errorf("only %d of 150 lots could be graded", graded)
			}
		})
	}
}

func holds(t *testing.T, c *advice.Case) {
	t.Helper()
	before := c.Readings.Clone()
	a := advice.Advise(*c)
	if again := advice.Advise(*c); !reflect.DeepEqual(a, again) {
		t.Fatalf("two runs differ:\n%+v\n%+v", a, again)
	}
	if !reflect.DeepEqual(before, c.Readings.Clone()) {
		t.Fatal("the readings were changed")
	}
	if a.Best.Remedy == "" || a.Considered[0].Remedy != a.Best.Remedy || a.Set[0] != a.Best.Remedy || a.Steps != len(a.Set) {
		t.Fatalf("best %q, considered %q, set %v, steps %d", a.Best.Remedy, a.Considered[0].Remedy, a.Set, a.Steps)
	}
	seen := map[advice.RemedyID]bool{}
	floor := unmendableRank(c)
	top := 0.0
	for _, price := range c.Settings.Prices {
		top = max(top, price.Float())
	}
	for _, o := range a.Considered {
		rem := advice.RemedyOf(o.Remedy)
		if rem == nil || seen[o.Remedy] {
			t.Fatalf("%q is unknown or stands twice", o.Remedy)
		}
		seen[o.Remedy] = true
		if !slices.Contains(advice.Reasons(), o.Reason) || o.Reason == advice.Mends && o.Remedy != a.Best.Remedy {
			t.Fatalf("%s has reason %q", o.Remedy, o.Reason)
		}
		// Hidden stages live on through sun and sieve ([WEEVIL-HEAT]): no grade is told
		// for a lot with insects before it was looked at again.
		if o.Remedy == advice.ClearInsects && (o.BecomesRank != c.Result.Rank || o.Gain != 0) {
			t.Fatalf("clearing insects makes it %s, gain %v", o.Becomes, o.Gain)
		}
		for _, caution := range rem.Cautions {
			if !slices.Contains(o.Cautions, caution) {
				t.Fatalf("%s lost caution %s", o.Remedy, caution)
			}
		}
		if o.KGLost < 0 || o.KGLost > c.KG.Float() || o.Cost < 0 || o.Passes < 1 || math.IsNaN(o.Gain) {
			t.Fatalf("%s: %+v", o.Remedy, o)
		}
		if o.BecomesChance < -1e-9 || o.BecomesChance > 1+1e-9 {
			t.Fatalf("%s: chance %v", o.Remedy, o.BecomesChance)
		}
		if o.InMoney && o.Gain > top*c.KG.Float()+1e-6 {
			t.Fatalf("%s gains %v money on %s kg at no more than %v a kg", o.Remedy, o.Gain, c.KG, top)
		}
		if rem.When == advice.ThisLot && o.BecomesRank < floor {
			t.Fatalf("%s claims rank %d, but what lies inside the husk is of rank %d", o.Remedy, o.BecomesRank, floor)
		}
		if !o.InMoney && o.Gain > float64(c.Result.Of)+1e-9 {
			t.Fatalf("%s gains %v steps of %d", o.Remedy, o.Gain, c.Result.Of)
		}
	}
	if len(seen) != len(advice.Remedies()) {
		t.Fatalf("%d of %d remedies were considered", len(seen), len(advice.Remedies()))
	}
	if season := advice.RemedyOf(a.Season); a.Season != "" && (season == nil || season.When != advice.NextSeason) {
		t.Fatalf("season remedy %q", a.Season)
	}
	if a.Best.When == advice.NextSeason && (a.Meanwhile == "" || a.Season != "" || a.Best.InMoney) {
		t.Fatalf("next season best: %+v", a)
	}
}

// unmendableRank is the worst rank of the parameters that are made of grains
// only, where the worst parameter decides; 0 under other rules.
func unmendableRank(c *advice.Case) (worst int) {
	if c.Standard.Rule != grading.WorstOf {
		return 0
	}
	inside := append([]grading.Field{grading.ImmatureWeight}, pan...)
	for _, p := range c.Standard.Parameters {
		grains := len(p.Terms) > 0
		for _, term := range p.Terms {
			grains = grains && term.Over != grading.SampleWeight && len(term.Fields) > 0
			for _, f := range term.Fields {
				grains = grains && slices.Contains(inside, f)
			}
		}
		if got := c.Result.Parameter(p.ID); grains && got != nil && got.Measured {
			worst = max(worst, got.Rank)
		}
	}
	return worst
}

func TestNoStandardNoAdvice(t *testing.T) {
	if a := advice.Advise(advice.Case{}); a.Best.Remedy != "" {
		t.Errorf("%+v", a)
	}
	c := advice.Case{Standard: book(t, "mbuyu-hand")}
	c.Readings.Set(grading.Counted, grading.NewDecimal(100))
	c.Readings.Set(grading.Red, grading.NewDecimal(101))
	if a := advice.Advise(c); a.Best.Remedy != "" {
		t.Errorf("101 red of 100: %+v", a)
	}
	if _, err := chance.Assess(c.Standard, c.Readings, chance.Certainty{}); !errors.As(err, new(*grading.RangeError)) {
		t.Errorf("101 red of 100: %v", err)
	}
}

// A result without chances is assessed anew, so a caller that only graded gets
// the same advice.
func TestAdviceFromAPlainGrade(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 50 {
		c := aLot(rng, book(t, "agmark-paddy"))
		var err error
		if c.Result, err = chance.Assess(c.Standard, c.Readings, chance.Certainty{}); err != nil {
			t.Fatal(err)
		}
		want := advice.Advise(c)
		if c.Result, err = grading.Grade(c.Standard, c.Readings); err != nil {
			t.Fatal(err)
		}
		if got := advice.Advise(c); !reflect.DeepEqual(got, want) {
			t.Fatalf("%+v\nwant %+v", got, want)
		}
	}
}

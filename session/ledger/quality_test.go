package ledger_test

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
	"threshline/session/ledger/figure"
)

// TestChiSquareAsPublished holds the tail against the upper critical values
// that [NIST-EDA3674] prints.
func TestChiSquareAsPublished(t *testing.T) {
	for _, c := range []struct{ freedom, chance, value float64 }{
		{1, 0.10, 2.706}, {1, 0.05, 3.841}, {1, 0.01, 6.635}, {5, 0.05, 11.070},
		{9, 0.10, 14.684}, {9, 0.05, 16.919}, {9, 0.025, 19.023}, {9, 0.01, 21.666}, {9, 0.001, 27.877},
		{20, 0.05, 31.410}, {20, 0.95, 10.851}, {100, 0.05, 124.342},
	} {
		if got := figure.ChiSquareChance(c.value, c.freedom); math.Abs(got-c.chance) > 0.0003 && math.Abs(got/c.chance-1) > 0.002 {
			t.Errorf("chi-square %v of %v degrees: chance %.5f, want %v", c.value, c.freedom, got, c.chance)
		}
	}
}

// TestAtLeastAddsUp holds the exact binomial tail against its terms.
func TestAtLeastAddsUp(t *testing.T) {
	for _, p := range []float64{0.05, 0.2, 0.5} {
		const n = 23
		sum := 0.0
		for k := n; k >= 0; k-- {
			lg := func(x int) float64 { v, _ := math.Lgamma(float64(x + 1)); return v }
			sum += math.Exp(lg(n) - lg(k) - lg(n-k) + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
			if got := figure.AtLeast(k, n, p); math.Abs(got-sum) > 1e-12 {
				t.Errorf("%d or more of %d at %v: %.15f, want %.15f", k, n, p, got, sum)
			}
		}
	}
	if figure.AtLeast(5, 4, 0.5) != 0 {
		t.Error("five of four")
	}
}

// TestHolm works the definition of [HOLM-1979] through by hand: 0.01 x 4;
// 0.02 x 3; 0.03 x 2 = 0.06, the same; 0.04 x 1 would be less than the one before.
func TestHolm(t *testing.T) {
	for _, c := range []struct{ chances, want []float64 }{
		{[]float64{0.03, 0.01, 0.04, 0.02}, []float64{0.06, 0.04, 0.06, 0.06}},
		{[]float64{0.5, 0.6}, []float64{1, 1}}, {[]float64{0.004}, []float64{0.004}}, {nil, []float64{}},
	} {
		got := figure.Holm(c.chances)
		if len(got) != len(c.want) {
			t.Fatalf("%v: %v", c.chances, got)
		}
		for i := range got {
			if math.Abs(got[i]-c.want[i]) > 1e-12 {
				t.Errorf("%v: %v, want %v", c.chances, got, c.want)
			}
		}
	}
}

// reported invents n checks of a season of honest agents, of which odd may
// change each one's before it is judged.
func reported(t testing.TB, seed uint64, n int, odd func(m *season, c *session.Check)) []session.Check {
	t.Helper()
	m := newSeason(t, seed, "mbuyu-hand", 24)
	list := make([]session.Check, 0, n)
	for range n {
		c := m.check(t)
		if odd != nil {
			odd(m, &c)
			m.judge(t, &c)
		}
		list = append(list, c)
	}
	return list
}

// again adds re-checks by a buyer of every fourth check: another sample of a
// lot of which the first check told as much as its sample could.
func again(t testing.TB, seed uint64, list []session.Check) []session.Check {
	t.Helper()
	m := newSeason(t, seed+100, "mbuyu-hand", 1)
	for i := range list {
		if i%4 != 0 {
			continue
		}
		c := list[i]
		c.Slip, c.Recheck, c.Reporter, c.Position = c.Slip+"R", c.Slip, "buyer", c.Position+1_000_000
		c.Readings = c.Readings.Clone()
		for _, f := range []grading.Field{grading.Discoloured, grading.Red, grading.OtherVariety} {
			truth := 1.2
			if f == grading.OtherVariety {
				truth = 0.8
			}
			c.Readings.Set(f, m.hits(100, truth))
			list[i].Readings.Set(f, m.hits(100, truth))
		}
		c.Paces = map[grading.Field]int{grading.Counted: 200, grading.Discoloured: 300, grading.Red: 400, grading.OtherVariety: 500}
		m.judge(t, &list[i])
		m.judge(t, &c)
		list = append(list, c)
	}
	return list
}

func quality(list []session.Check) ledger.Quality {
	l := ledger.New(ledger.Settings{})
	l.Apply(list...)
	return l.View().Quality()
}

// TestHonestAgentsAreLeftInPeace: Holm's method promises that at most one honest
// season in twenty has any finding at all.
func TestHonestAgentsAreLeftInPeace(t *testing.T) {
	if testing.Short() {
		t.Skip("takes many seasons")
	}
	const seasons = 40
	flagged, tests := 0, map[ledger.Reason]int{}
	for seed := uint64(1000); seed < 1000+seasons; seed++ {
		q := quality(again(t, seed, reported(t, seed, 3000, nil)))
		for r, look := range q.Looked {
			tests[r] += look.Tests
		}
		if len(q.Findings) > 0 {
			flagged++
			t.Logf("seed %d: %+v", seed, q.Findings)
		}
	}
	for _, r := range ledger.Reasons() {
		if tests[r] == 0 {
			t.Errorf("%s was never tested", r)
		}
	}
	// At 0.05 six or more of forty come up once in seventy times.
	if flagged > 5 {
		t.Errorf("%d of %d honest seasons have a finding", flagged, seasons)
	}
}

// TestPlantedFaultsAreFound plants one habit into one agent's reports at a
// time, and wants that agent flagged for it, and nobody else for anything.
func TestPlantedFaultsAreFound(t *testing.T) {
	const who = "a007"
	var kept []grading.Readings
	plants := map[ledger.Reason]func(m *season, c *session.Check){
		ledger.LastDigits: func(m *season, c *session.Check) {
			for i, d := range c.Readings.Repeats {
				if m.rng.IntN(2) == 0 {
					c.Readings.Repeats[i] = (d + 2500) / 5000 * 5000
				}
			}
		},
		ledger.SameReadings: func(m *season, c *session.Check) {
			if len(kept) > 5 && m.rng.IntN(10) == 0 {
				c.Readings = kept[m.rng.IntN(len(kept))].Clone()
			}
			kept = append(kept, c.Readings.Clone())
		},
		ledger.FastPace: func(m *season, c *session.Check) {
			if m.rng.IntN(10) < 6 {
				c.Paces[grading.BrownWeight] = c.Paces[grading.CleanWeight] + 1 + m.rng.IntN(12)
			}
		},
		ledger.NarrowRepeats: func(m *season, c *session.Check) {
			for i := range c.Readings.Repeats {
				c.Readings.Repeats[i] = c.Readings.Repeats[0]
			}
		},
		ledger.BalanceExact: func(m *season, c *session.Check) {
			sample, _ := c.Readings.Get(grading.SampleWeight)
			chaff, _ := c.Readings.Get(grading.Chaff)
			stones, _ := c.Readings.Get(grading.Stones)
			if m.rng.IntN(10) > 0 {
				c.Readings.Set(grading.CleanWeight, sample-chaff-stones)
			}
		},
		ledger.BalanceEdge: func(m *season, c *session.Check) {
			clean, _ := c.Readings.Get(grading.CleanWeight)
			if m.rng.IntN(2) == 0 {
				c.Readings.Set(grading.CleanWeight, clean-grading.NewDecimal(5))
			}
		},
		ledger.NeighbourGrades: func(m *season, c *session.Check) {
			for i := range c.Readings.Repeats {
				c.Readings.Repeats[i] = min(c.Readings.Repeats[i], 135000+grading.Decimal(m.rng.IntN(5))*1000)
			}
			for _, f := range []grading.Field{grading.PestDamaged, grading.Red, grading.Discoloured} {
				c.Readings.Set(f, 0)
			}
			for _, f := range []grading.Field{grading.Chaff, grading.Stones} {
				d, _ := c.Readings.Get(f)
				c.Readings.Set(f, d/3/100*100)
			}
			c.Readings.Flags = nil
		},
	}
	for reason, plant := range plants {
		t.Run(string(reason), func(t *testing.T) {
			const seed = 4242
			t.Logf("seed %d", seed)
			kept = nil
			list := reported(t, seed, 4000, func(m *season, c *session.Check) {
				if c.Reporter == who {
					plant(m, c)
				}
			})
			found := false
			for _, f := range quality(list).Findings {
				found = found || f.Reporter == who && f.Reason == reason
				if f.Reporter != who {
					t.Errorf("an honest agent is flagged: %+v", f)
				}
				if f.Corrected < f.Chance || f.Corrected >= ledger.FindingBelow || f.Checks == 0 {
					t.Errorf("figures: %+v", f)
				}
			}
			if !found {
				t.Errorf("%s is not flagged for %s", who, reason)
			}
		})
	}
}

// TestKindlyCountsShowInRechecks: one agent sees a tenth of what a buyer sees.
func TestKindlyCountsShowInRechecks(t *testing.T) {
	const seed, who = 17, "a003"
	t.Logf("seed %d", seed)
	m := newSeason(t, seed, "mbuyu-hand", 1)
	list := again(t, seed, reported(t, seed, 5000, nil))
	for i := range list {
		c := &list[i]
		bad := c.Recheck != "" && c.Agent == who
		if c.Reporter == who || bad {
			truth := 1.5
			if bad {
				truth = 14
			}
			for _, f := range []grading.Field{grading.Discoloured, grading.Red} {
				c.Readings.Set(f, m.hits(100, truth))
			}
			m.judge(t, c)
		}
	}
	reasons := map[ledger.Reason]bool{}
	for _, f := range quality(list).Findings {
		if f.Reporter != who && f.Reporter != "buyer" {
			t.Errorf("an honest agent is flagged: %+v", f)
		}
		if f.Reporter == who {
			reasons[f.Reason] = true
		}
	}
	if !reasons[ledger.RecheckCounts] || !reasons[ledger.RecheckGrades] {
		t.Errorf("flagged for %v only", reasons)
	}
}

func TestQualityIsTheSameEveryTime(t *testing.T) {
	list := again(t, 6, reported(t, 6, 2500, func(m *season, c *session.Check) {
		if c.Reporter == "a001" {
			c.Readings.Repeats = slices.Repeat(c.Readings.Repeats[:1], 3)
		}
	}))
	want := quality(list)
	if len(want.Findings) == 0 || want.Tests < 50 {
		t.Fatalf("%d findings of %d tests", len(want.Findings), want.Tests)
	}
	for range 5 {
		if got := quality(list); !reflect.DeepEqual(got, want) {
			t.Fatalf("%+v\n%+v", got, want)
		}
	}
	if q := quality(nil); len(q.Findings) != 0 || q.Tests != 0 {
		t.Errorf("of nothing: %+v", q)
	}
}

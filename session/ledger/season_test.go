package ledger_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/standard/standardtest"
	"threshline/session"
)

// book loads a built-in standard.
func book(t testing.TB, id string) *grading.Standard {
	t.Helper()
	s, err := standardtest.ByID(id)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// season invents checks of a programme: a few districts, each with its own
// troubles, agents who measure honestly, growers with several lots.
type season struct {
	rng    *rand.Rand
	s      *grading.Standard
	agents int
	days   int
	grader *grading.Evaluator
	result grading.Result
	serial int
}

var startOfSeason = time.Date(2026, 9, 28, 6, 0, 0, 0, time.UTC)

func newSeason(t testing.TB, seed uint64, id string, agents int) *season {
	s := book(t, id)
	return &season{
		rng: rand.New(rand.NewPCG(seed, 7)), s: s, agents: agents, days: 70, grader: grading.NewEvaluator(s),
	}
}

func (m *season) near(mean, spread float64, decimals int) grading.Decimal {
	x := max(0, mean+m.rng.NormFloat64()*spread)
	return grading.Decimal(math.Round(x * 10000)).Round(decimals)
}

func (m *season) skewed(mean float64) float64 { return mean * math.Exp(m.rng.NormFloat64()*0.7-0.245) }

func (m *season) hits(n int, percent float64) grading.Decimal {
	hit := 0
	for range n {
		if m.rng.Float64()*100 < percent {
			hit++
		}
	}
	return grading.NewDecimal(hit)
}

// readings invents what an honest agent measures in district d.
func (m *season) readings(d int) grading.Readings {
	var r grading.Readings
	wet := 13.2 + 0.6*float64(d) + m.rng.NormFloat64()*1.2
	for range 3 {
		r.Repeats = append(r.Repeats, m.near(wet, 0.25, 1))
	}
	const sample = 200.0
	chaff, stones := sample*m.skewed(0.8+0.3*float64(d))/100, sample*m.skewed(0.3+0.1*float64(d))/100
	clean := sample - chaff - stones - math.Abs(m.rng.NormFloat64())*0.3
	brown := clean * (0.785 + m.rng.NormFloat64()*0.01)
	r.Set(grading.SampleWeight, grading.NewDecimal(200))
	r.Set(grading.Chaff, m.near(chaff, 0.01, 2))
	r.Set(grading.Stones, m.near(stones, 0.01, 2))
	r.Set(grading.CleanWeight, m.near(clean, 0.01, 2))
	r.Set(grading.BrownWeight, m.near(brown, 0.01, 2))
	r.Set(grading.ImmatureWeight, m.near(brown*m.skewed(2)/100, 0.01, 2))
	r.Set(grading.Counted, grading.NewDecimal(100))
	r.Set(grading.PestDamaged, m.hits(100, m.skewed(0.8)))
	r.Set(grading.Discoloured, m.hits(100, m.skewed(1.2)))
	r.Set(grading.Red, m.hits(100, m.skewed(1+0.5*float64(d))))
	r.Set(grading.OtherVariety, m.hits(100, 0.8))
	r.Set(grading.LiveWeevils, 0)
	r.Set(grading.LiveOthers, 0)
	if m.rng.IntN(25) == 0 {
		r.Set(grading.LiveWeevils, grading.NewDecimal(m.rng.IntN(4)))
		r.Set(grading.LiveOthers, grading.NewDecimal(m.rng.IntN(7)))
	}
	if m.rng.IntN(40) == 0 {
		flags := []grading.Flag{grading.Musty, grading.Mouldy, grading.Warm, grading.OffOdour}
		r.Flags = []grading.Flag{flags[m.rng.IntN(len(flags))]}
	}
	return r
}

var districts = []string{"Upper Mbuyu", "Lower Mbuyu", "Kisima", "Korongo"}

// check invents a filed check by an agent of the season.
func (m *season) check(t testing.TB) session.Check {
	t.Helper()
	agent := m.rng.IntN(m.agents)
	d := agent % len(districts)
	at := startOfSeason.Add(time.Duration(m.rng.IntN(m.days*24*60)) * time.Minute)
	m.serial++
	c := session.Check{
		Slip: session.Slip(fmt.Sprintf("S%06X", m.serial)), Version: 1, Position: uint64(m.serial), State: session.Filed,
		Lot: session.Lot{
			Grower:  session.PersonID(fmt.Sprintf("g%03d-%02d", agent, m.rng.IntN(90))),
			Variety: []string{"", "SARO 5", "Supa", "Komboka"}[m.rng.IntN(4)], District: districts[d],
			Village: fmt.Sprintf("Village %d", m.rng.IntN(6)), Bags: 1 + m.rng.IntN(20), BagKG: grading.NewDecimal(75),
		},
		Readings: m.readings(d),
		Reporter: session.PersonID(fmt.Sprintf("a%03d", agent)), Agent: session.PersonID(fmt.Sprintf("a%03d", agent)),
		Channel: []string{"valley-ussd", "valley-sms"}[m.rng.IntN(2)], Language: "en",
		Started: at.Add(-time.Duration(20+m.rng.IntN(60)) * time.Minute), At: at,
	}
	c.Lot.KG = grading.Decimal(c.Lot.Bags) * c.Lot.BagKG
	if m.rng.IntN(20) == 0 {
		c.Lot.KG = 0
	}
	c.Paces = map[grading.Field]int{}
	sec := 60
	for _, f := range grading.Fields() {
		if c.Readings.Has(f) {
			sec += 20 + m.rng.IntN(200)
			c.Paces[f] = sec
		}
	}
	m.judge(t, &c)
	return c
}

// judge grades a check as filing does, without the chances, which it invents.
func (m *season) judge(t testing.TB, c *session.Check) {
	t.Helper()
	if err := m.grader.Grade(&c.Readings, &m.result); err != nil {
		t.Fatal(err)
	}
	r := &m.result
	c.StandardID, c.Edition, c.Grade, c.Rank, c.Of = m.s.ID, m.s.Edition, r.Grade, r.Rank, r.Of
	c.Complete, c.Borderline = r.Complete, m.rng.IntN(5) == 0
	c.Confidence = 0
	if c.Complete {
		c.Confidence = 0.4 + 0.6*m.rng.Float64()
	}
	c.Deciding = append([]grading.ParameterID(nil), r.Deciding...)
	c.Missing = append([]grading.ParameterID(nil), r.Missing...)
	c.Gates = append([]string(nil), r.Gates...)
	c.Values = map[grading.ParameterID]grading.Decimal{}
	for _, p := range r.Parameters {
		if p.Measured && p.Unit != grading.Word {
			c.Values[p.ID] = p.Shown
		}
	}
	c.Remedy = []advice.RemedyID{advice.DrySun, advice.Winnow, advice.KeepWell, advice.BetterSeed}[m.rng.IntN(4)]
}

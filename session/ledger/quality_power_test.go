package ledger_test

import (
	"fmt"
	"maps"
	"slices"
	"testing"

	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
)

// Seasons of twelve agents with sixty checks each: as small as a programme gets.
const (
	smallAgents, smallChecks = 12, 60
	smallSeasons             = 100
)

// smallSeason invents sixty checks of each of twelve honest agents.
func smallSeason(t testing.TB, seed uint64) (m *season, list []session.Check) {
	m = newSeason(t, seed, "mbuyu-hand", smallAgents)
	sent := map[session.PersonID]int{}
	for len(list) < smallAgents*smallChecks {
		c := m.check(t)
		if sent[c.Reporter] < smallChecks {
			sent[c.Reporter]++
			list = append(list, c)
		}
	}
	return m, list
}

// TestHabitsAreFoundInASmallSeason plants one habit into one agent's sixty
// checks, season after season, and counts how often that agent is named, and
// anybody else. Invented seasons; the habits are those that a person who reads
// the reports sees at once.
func TestHabitsAreFoundInASmallSeason(t *testing.T) {
	if testing.Short() {
		t.Skip("takes many seasons")
	}
	const who = "a007"
	toHalf := func(d grading.Decimal) grading.Decimal { return (d + 2500) / 5000 * 5000 }
	habits := map[string]func(m *season, mine []*session.Check){
		"one reading written three times in half of the lots": func(m *season, mine []*session.Check) {
			for i, c := range mine {
				if i%2 == 0 {
					c.Readings.Repeats = slices.Repeat(c.Readings.Repeats[:1], 3)
				}
			}
		},
		"half of the moisture readings copied from another lot": func(m *season, mine []*session.Check) {
			for i, c := range mine {
				if i%2 == 1 {
					c.Readings.Repeats = slices.Clone(mine[m.rng.IntN(i)].Readings.Repeats)
				}
			}
		},
		"all readings on .0 or .5": func(m *season, mine []*session.Check) {
			for _, c := range mine {
				for i, d := range c.Readings.Repeats {
					c.Readings.Repeats[i] = toHalf(d)
				}
				for _, f := range []grading.Field{grading.Chaff, grading.Stones, grading.CleanWeight, grading.BrownWeight, grading.ImmatureWeight} {
					d, _ := c.Readings.Get(f)
					c.Readings.Set(f, toHalf(d))
				}
			}
		},
		"whole sets copied from another lot": func(m *season, mine []*session.Check) {
			for i, c := range mine {
				if i%4 == 3 {
					c.Readings = mine[m.rng.IntN(i)].Readings.Clone()
				}
			}
		},
	}
	found, innocent := map[string]int{}, map[string]int{}
	for seed := uint64(1); seed <= smallSeasons; seed++ {
		m, honest := smallSeason(t, seed)
		for _, name := range slices.Sorted(maps.Keys(habits)) { // in one order, so that a seed replays
			plant := habits[name]
			list := slices.Clone(honest)
			var mine []*session.Check
			for i := range list {
				if list[i].Reporter == who {
					list[i].Readings = list[i].Readings.Clone()
					mine = append(mine, &list[i])
				}
			}
			plant(m, mine)
			for _, c := range mine {
				m.judge(t, c)
			}
			named := map[session.PersonID]bool{}
			for _, f := range quality(list).Findings {
				named[f.Reporter] = true
			}
			if named[who] {
				found[name]++
			}
			if delete(named, who); len(named) > 0 {
				innocent[name]++
				t.Logf("seed %d, %s: %v named", seed, name, named)
			}
		}
	}
	for name := range habits {
		t.Logf("%s: found in %d, an innocent named in %d of %d seasons", name, found[name], innocent[name], smallSeasons)
		if found[name] <= 90 || innocent[name] >= 5 {
			t.Errorf("%s: found in %d of %d seasons, want over 90; an innocent named in %d, want under 5", name, found[name], smallSeasons, innocent[name])
		}
	}
}

// TestAFilterAccusesNobody: whoever a filter leaves is still compared with the
// whole programme, and named for nothing else than without it.
func TestAFilterAccusesNobody(t *testing.T) {
	_, list := smallSeason(t, 3)
	l := ledger.New(ledger.Settings{})
	l.Apply(list...)
	view := l.View()
	whole := view.Quality()
	for n := range smallAgents {
		agent := session.PersonID(fmt.Sprintf("a%03d", n))
		who := view.Reporters(ledger.Filter{Agent: agent})
		if len(who) != 1 || !who[agent] {
			t.Fatalf("checks of %s were sent by %v", agent, who)
		}
		mine := whole.Of(who)
		for _, f := range mine.Findings {
			if f.Reporter != agent || !slices.Contains(whole.Findings, f) {
				t.Errorf("%+v is not among the findings of the whole programme", f)
			}
		}
		if mine.Tests != whole.Tests {
			t.Errorf("%d tests, %d of the whole programme", mine.Tests, whole.Tests)
		}
	}
}

// TestWhatWasNotTestedSaysWhy: nothing is left out in silence.
func TestWhatWasNotTestedSaysWhy(t *testing.T) {
	_, list := smallSeason(t, 5)
	few := map[session.PersonID]int{}
	list = slices.DeleteFunc(list, func(c session.Check) bool {
		few[c.Reporter]++
		return c.Reporter == "a002" && few[c.Reporter] > 7
	})
	q := quality(list)
	for _, reason := range []ledger.Reason{ledger.LastDigits, ledger.EqualRepeats, ledger.SameMoisture, ledger.SameReadings, ledger.NarrowRepeats} {
		look := q.Looked[reason]
		if look.Tests == 0 || look.Checks == 0 {
			t.Errorf("%s: nothing was looked at: %+v", reason, look)
		}
		if reason != ledger.NarrowRepeats && look.Left[ledger.TooFew] == 0 {
			t.Errorf("%s: an agent with seven checks is left out in silence: %+v", reason, look)
		}
	}
	coarse := slices.Clone(list)
	for i := range coarse { // a display of whole points
		coarse[i].Readings = coarse[i].Readings.Clone()
		for n, d := range coarse[i].Readings.Repeats {
			coarse[i].Readings.Repeats[n] = d.Round(0)
		}
	}
	if look := quality(coarse).Looked[ledger.NarrowRepeats]; look.Tests != 0 || look.Left[ledger.TooCoarse] == 0 {
		t.Errorf("a display of whole points: %+v", look)
	}
}

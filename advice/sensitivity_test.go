package advice_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/standard/standardtest"
)

// swing is an assumed figure, by its key where a programme can set it, and how to
// make it a multiple of what it is. undo puts it back.
type swing struct {
	name string
	key  bool
	set  func(c *advice.Case, by float64) (undo func())
}

// swings are all figures that stand as assumed in the table, and the thresholds.
func swings() (list []swing) {
	own := func(name string, set func(o *advice.Own, by float64)) {
		list = append(list, swing{name, true, func(c *advice.Case, by float64) func() {
			set(&c.Settings.Own, by)
			return func() { c.Settings.Own = advice.Own{} }
		}})
	}
	own("worth_steps", func(o *advice.Own, by float64) { o.WorthSteps = advice.WorthSteps * by })
	own("worth_percent", func(o *advice.Own, by float64) { o.WorthShare = advice.WorthShare * by })
	own("worth_measuring", func(o *advice.Own, by float64) { o.WorthMeasuring = advice.WorthMeasuring * by })
	own("most_in_sun_kg", func(o *advice.Own, by float64) { o.MostInSun = advice.RemedyOf(advice.DrySun).LargestKG * by })
	for _, r := range advice.Remedies() {
		if w := r.Work; w.Trust == advice.Assumed {
			own("work of "+string(r.ID), func(o *advice.Own, by float64) {
				o.Work = map[advice.RemedyID]advice.Work{r.ID: {Fixed: w.Fixed * by, PerTonne: w.PerTonne * by}}
			})
		}
		if r.LargestKG > 0 && !r.InSun {
			list = append(list, swing{"largest lot of " + string(r.ID), false, func(_ *advice.Case, by float64) func() {
				rem, was := advice.RemedyOf(r.ID), r.LargestKG
				rem.LargestKG = was * by
				return func() { rem.LargestKG = was }
			}})
		}
		for i, e := range r.Effects {
			if e.Trust != advice.Assumed {
				continue
			}
			list = append(list, swing{"what " + string(r.ID) + " takes of " + e.Field.String(), false, func(_ *advice.Case, by float64) func() {
				at := &advice.RemedyOf(r.ID).Effects[i].Takes
				*at = advice.Share{Low: min(e.Takes.Low*by, 1), Mid: min(e.Takes.Mid*by, 1), High: min(e.Takes.High*by, 1)}
				return func() { *at = e.Takes }
			}})
		}
	}
	return list
}

// TestWhatTheChoiceTurnsOn takes half and the double of every assumed figure and
// counts the lots for which another remedy is chosen. What leads is a key of a
// programme; what is none turns few. What a sieve and pickers take is the most of
// those, in lots of a bag or two.
func TestWhatTheChoiceTurnsOn(t *testing.T) {
	if testing.Short() {
		t.Skip("takes many lots")
	}
	const mostOfOthers = 0.04
	lots := standardtest.Rounds(160)
	rng := rand.New(rand.NewPCG(20261128, 5))
	books := []*grading.Standard{book(t, "mbuyu-hand"), book(t, "agmark-paddy")}
	cases := make([]advice.Case, lots)
	best := make([]advice.RemedyID, lots)
	var many advice.Adviser
	for i := range cases {
		cases[i] = aLot(rng, books[i%2])
		cases[i].Readings.Meter = grading.Meter{Checked: true}
		if i%4 >= 2 {
			priced(rng, &cases[i])
		}
		if i%10 == 0 {
			cases[i].KG = grading.NewDecimal(5000 + rng.IntN(20000))
		}
		best[i] = many.Advise(&cases[i]).Best.Remedy
	}
	type row struct {
		swing
		half, double int
	}
	var rows []row
	for _, s := range swings() {
		r := row{swing: s}
		for _, by := range []float64{0.5, 2} {
			n := 0
			for i := range cases {
				undo := s.set(&cases[i], by)
				if many.Advise(&cases[i]).Best.Remedy != best[i] {
					n++
				}
				undo()
			}
			if by < 1 {
				r.half = n
			} else {
				r.double = n
			}
		}
		rows = append(rows, r)
	}
	slices.SortStableFunc(rows, func(x, y row) int { return max(y.half, y.double) - max(x.half, x.double) })
	for _, r := range rows {
		key := "key"
		if !r.key {
			key = ""
		}
		share := func(n int) string { return fmt.Sprintf("%4.1f %%", 100*float64(n)/float64(lots)) }
		t.Logf("%-45s %-4s half %s  double %s", r.name, key, share(r.half), share(r.double))
		if !r.key && float64(max(r.half, r.double)) > mostOfOthers*float64(lots) {
			t.Errorf("%s changes the choice of too many lots to be no key of a programme", r.name)
		}
	}
	if !rows[0].key || !rows[1].key || rows[0].half+rows[0].double == 0 {
		t.Errorf("%s and %s lead", rows[0].name, rows[1].name)
	}
}

package advice_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"threshline/advice"
	"threshline/grading/standard/standardtest"
)

// compared is what can be done with a lot, a line each.
func compared(c advice.Case) string {
	var w strings.Builder
	ways := advice.WaysFor(c)
	if ways.Best < 0 {
		return "stopped\n"
	}
	for i, way := range ways.List {
		mark := " "
		if i == ways.Best {
			mark = "*"
		}
		fmt.Fprintf(&w, "%s %s %v: %s", mark, way.ID, way.Set, way.Becomes)
		if way.Target > 0 {
			fmt.Fprintf(&w, ", dried to %s", way.Target)
		}
		switch {
		case !way.Known:
			fmt.Fprint(&w, ", not known")
		case ways.InMoney:
			fmt.Fprintf(&w, ", %.0f", way.Money)
		}
		if way.ID == advice.KeepIt && way.Known && ways.InMoney {
			fmt.Fprintf(&w, " today, pays from +%.1f %%", way.Rise)
		}
		fmt.Fprintln(&w)
	}
	if ways.First != "" {
		fmt.Fprintf(&w, "first %s\n", ways.First)
	}
	if ways.Spoils {
		fmt.Fprintln(&w, "it spoils")
	}
	return w.String()
}

// The comparison and the one remedy are two answers to one question: what Advise
// does to the lot is the best way, and earns what it says it earns.
func TestTheBestWayIsWhatIsAdvised(t *testing.T) {
	found := 0
	s, rng := book(t, standardtest.Demonstration), rand.New(rand.NewPCG(14, 2))
	for range 400 {
		c := aLot(rng, s)
		priced(rng, &c)
		a, ways := advice.Advise(c), advice.WaysFor(c)
		if ways.Best < 0 {
			if a.Best.Band == advice.MendBand && ways.First != advice.ClearInsects {
				t.Fatalf("nothing is compared, yet %s is advised", a.Best.Remedy)
			}
			continue
		}
		best := ways.List[ways.Best]
		if acts := a.Best.Band == advice.MendBand && len(a.Set) > 0; acts {
			found++
			if fmt.Sprint(best.Set) != fmt.Sprint(a.Set) {
				t.Fatalf("best way %v, advised %v", best.Set, a.Set)
			}
			if earned := best.Money - ways.List[0].Money; ways.InMoney && math.Abs(earned-a.SetGain) > 0.01 {
				t.Fatalf("the way earns %.2f, the advice says %.2f", earned, a.SetGain)
			}
		}
		for _, way := range ways.List[1:] {
			if ways.InMoney && way.Known && way.ID != advice.KeepIt && !ways.Spoils && way.Money > best.Money+0.01 && a.Best.Band == advice.MendBand {
				t.Fatalf("%s leaves %.2f, the best %.2f", way.ID, way.Money, best.Money)
			}
		}
	}
	if found < 40 {
		t.Fatalf("only %d lots were to be mended", found)
	}
}

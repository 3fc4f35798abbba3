package programme_test

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/byhand"
	"threshline/grading/standard/standardtest"
	"threshline/session"
	"threshline/session/programme"
)

// The promise of the check by hand. Of lots for which a run of grades is stated
// with a chance of 70 %, 70 % have one of them, within 5 points, by each standard in
// clean and in rough crops. Of the remedies that it gives, at least 7 of 10 are
// given by a full check too, and not over 1 of 10 are useless by it: it finds nothing
// to mend, or too little gain. Drying is not useless where grain is too wet to keep.
//
// This simulation shares no code with what it judges: it has crops, bags, scoops,
// grains, eyes, a kit and limits of its own, and takes nothing from the packages
// but the answers. Crops, bags, scoops and eyes are invented.
//
// Of the lots for which a full check has a remedy, the one that hands name, surely
// or to be tried, is one of the full check's in 7 of 10. In clean crops of mbuyu-hand
// and agmark-paddy it is so in 6 of 10: their lots lie near several limits at once, and
// a second full check of a lot's other bags agrees in 7 of 10 only. What is tried is
// useless as often as is said, within 5 points in all; of one crop alone, of which hands
// do not know that it is clean or rough, within 10.
const (
	handPoints, handTooSure = 5.0, 10.0
	handAgrees, handUseless = 0.7, 0.1
	handNamed, handLeast    = 0.7, 0.5 // in all and in each season

	handSeed = 20
	// bagsInLot are the lot's bags, bagsSpeared those that the kit's sample is of.
	bagsInLot, bagsSpeared = 12, 6
)

// handCell is what was stated and what came true, in sums over lots.
type handCell struct {
	lots, stated, came, grades, dry float64
	judged                          float64 // lots whose remedy was looked at
	hand, again                     advices
}

// advices are what was advised, held against the full check's. Again are those of a
// second full check of the lot's other bags, as a measure of what can be had.
type advices struct {
	advised, agrees, useless float64
	// Tried are remedies of which hands are not sure, and said how many were then said to
	// be useful. Named are those of had[0] for which either names one of the full check's.
	tried, triedAgrees, triedUseless, said, named float64
	// Of lots: had are those for which the full check has a remedy, dry those of them for
	// which that is not for water that nobody felt, much those of these that gain half a
	// grade; each with how many of them got one of the full check's remedies.
	had, dry, much [2]float64
}

func (c *handCell) add(o *handCell) {
	to, from := c.sums(), o.sums()
	for i := range to {
		*to[i] += *from[i]
	}
}

func (c *handCell) sums() []*float64 {
	out := []*float64{&c.lots, &c.stated, &c.came, &c.grades, &c.dry, &c.judged}
	for _, a := range []*advices{&c.hand, &c.again} {
		out = append(out, &a.advised, &a.agrees, &a.useless, &a.tried, &a.triedAgrees, &a.triedUseless, &a.said, &a.named, &a.had[0], &a.had[1], &a.dry[0], &a.dry[1], &a.much[0], &a.much[1])
	}
	return out
}

// gap is in points: over 0 too modest, under 0 too sure.
func (c *handCell) gap() float64 { return 100 * (c.came - c.stated) / c.lots }

func (c *handCell) String() string {
	return fmt.Sprintf("stated %2.0f %%, off %+5.1f, %.1f grades, if dry %3.0f %% | %v | again %v",
		percent(c.stated, c.lots), c.gap(), c.grades/max(c.lots, 1), percent(c.dry, c.lots), c.hand.of(c.judged), c.again.of(c.judged))
}

func percent(a, b float64) float64 { return 100 * a / max(b, 1) }

func (a *advices) of(lots float64) string {
	tried := ""
	if a.tried > 0 {
		tried = fmt.Sprintf("; %2.0f %% tried, %2.0f %% by kit, %2.0f %% useless, said %2.0f %%", percent(a.tried, lots),
			percent(a.triedAgrees, a.tried), percent(a.triedUseless, a.tried), percent(a.tried-a.said, a.tried))
	}
	return fmt.Sprintf("%2.0f %% advised, %2.0f %% by kit, %2.0f %% useless%s; of %2.0f %% with one %2.0f %% named, %2.0f %% surely, water felt %2.0f %%, half a grade %2.0f %%",
		percent(a.advised, lots), percent(a.agrees, a.advised), percent(a.useless, a.advised), tried, percent(a.had[0], lots), percent(a.named, a.had[0]),
		percent(a.had[1], a.had[0]), percent(a.dry[1], a.dry[0]), percent(a.much[1], a.much[0]))
}

var (
	bagDeviations = [...]float64{0, 0.5, 1}
	handfulsTaken = [...]int{1, 3}
)

type handCells [len(handStandards)][len(handCrops)][len(handfulsTaken)][len(bagDeviations)]handCell

// handPromise simulates all cells: draws lots each, and the remedy for every so
// many of them.
func handPromise(t testing.TB, draws, every int) (cells handCells) {
	var programmes [len(handStandards)]programme.Programme
	for s := range handStandards {
		table, err := standardtest.ByID(handStandards[s].id)
		if err != nil {
			t.Fatal(err)
		}
		programmes[s].Standard = table
	}
	for i := range handCrops {
		for k, handfuls := range handfulsTaken {
			for d, deviation := range bagDeviations {
				r := rand.New(rand.NewPCG(handSeed, uint64(i*100+k*10+d)))
				for n := range draws {
					lot, bags := handCrops[i].draw(r, deviation)
					hand := grading.Readings{Looked: grading.WasLooked, Flags: bitten(r, lot.water), Hand: countedByHand(r, bags[:handfuls])}
					kit, second := measuredByKit(r, bags[:bagsSpeared]), measuredByKit(r, bags[bagsSpeared:])
					second.Repeats = kit.Repeats
					if fault, _ := hand.Hand.Fault(); fault == grading.HandMostEmpty { // is winnowed first
						continue
					}
					for s := range handStandards {
						class := ""
						if classes := programmes[s].Standard.Classes; len(classes) > 0 {
							class = classes[0]
						}
						hand.Class, kit.Class, second.Class = class, class, class
						c := &cells[s][i][k][d]
						c.grade(t, &programmes[s], s, &lot, &hand)
						if n%every == 0 {
							c.advise(t, &programmes[s], hand, kit, second)
						}
					}
				}
			}
		}
	}
	return cells
}

// grade holds the stated grades against the lot's own.
func (c *handCell) grade(t testing.TB, p *programme.Programme, s int, lot *paddy, hand *grading.Readings) {
	l, err := byhand.Assess(p.Standard, hand, byhand.Options{Bags: bagsInLot})
	if err != nil {
		t.Fatal(err)
	}
	table := &handStandards[s]
	rank := rankOf(table.water, table.rows, lot, table.made(lot), l.IfDry)
	c.lots++
	c.stated += l.Chance
	c.grades += float64(l.To - l.From + 1)
	if l.IfDry {
		c.dry++
	}
	if rank >= l.From && rank <= l.To {
		c.came++
	}
}

// advise holds the remedy, and that of a second full check, against a full check's.
func (c *handCell) advise(t testing.TB, p *programme.Programme, hand, kit, second grading.Readings) {
	about, at := session.Lot{Bags: bagsInLot, KG: 600 * grading.One}, time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	byHand, err := p.JudgeHand(about, hand, at, nil)
	if err != nil {
		t.Fatal(err)
	}
	full, err := p.Judge(about, kit, session.Kit{}, at, nil)
	if err != nil {
		t.Fatal(err)
	}
	again, err := p.Judge(about, second, session.Kit{}, at, nil)
	if err != nil {
		t.Fatal(err)
	}
	c.judged++
	wet := kit.MeanMoisture().Float() > 14
	c.hand.hold(byHand.Advice.Best.Remedy, &full.Advice, hand.WetByHand() != "", wet)
	c.hand.try(&byHand.Advice, &full.Advice, wet)
	c.again.hold(again.Advice.Best.Remedy, &full.Advice, true, wet)
	c.again.named = c.again.had[1]
}

// isRemedy reports whether the advice is to do something about what was found.
func isRemedy(id advice.RemedyID) bool {
	rem := advice.RemedyOf(id)
	return rem != nil && (rem.When == advice.NextSeason || rem.Changes())
}

// gives reports whether a remedy is one of the full check's.
func gives(full *advice.Advice, id advice.RemedyID) bool {
	return isRemedy(id) && slices.Contains(append(slices.Clone(full.Set), full.Season), id)
}

// calledUseless reports whether a full check finds nothing to mend by a remedy, or too
// little gain; drying is not useless where grain is too wet to keep.
func calledUseless(full *advice.Advice, id advice.RemedyID, wet bool) bool {
	i := slices.IndexFunc(full.Considered, func(o advice.Option) bool { return o.Remedy == id })
	switch full.Considered[i].Reason {
	case advice.NotFound, advice.NoGain, advice.NotMeasured:
		return !(advice.RemedyOf(id).Dries && wet)
	}
	return false
}

func (a *advices) hold(got advice.RemedyID, full *advice.Advice, felt, wet bool) {
	same := gives(full, got)
	count := func(of *[2]float64) {
		if of[0]++; same {
			of[1]++
		}
	}
	if best := &full.Best; isRemedy(best.Remedy) {
		count(&a.had)
		if !advice.RemedyOf(best.Remedy).Dries || felt {
			count(&a.dry)
			if best.Gain >= 0.5 {
				count(&a.much)
			}
		}
	}
	if !isRemedy(got) {
		return
	}
	a.advised++
	switch {
	case same:
		a.agrees++
	case calledUseless(full, got, wet):
		a.useless++
	}
}

// try holds what is to be tried against a full check.
func (a *advices) try(got *advice.Hand, full *advice.Advice, wet bool) {
	try := got.Try.Remedy
	if isRemedy(full.Best.Remedy) && (gives(full, got.Best.Remedy) || gives(full, try)) {
		a.named++
	}
	if try == "" {
		return
	}
	a.tried++
	a.said += got.Try.Useful
	switch {
	case gives(full, try):
		a.triedAgrees++
	case calledUseless(full, try, wet):
		a.triedUseless++
	}
}

// table writes all cells for a reader.
func (cells *handCells) table() string {
	var b strings.Builder
	var all handCell
	for s := range cells {
		for i := range cells[s] {
			var whole handCell
			for k := range cells[s][i] {
				for d := range cells[s][i][k] {
					fmt.Fprintf(&b, "%-13s %-5s %d handfuls, bags %.1f: %v\n", handStandards[s].id, handCrops[i].name, handfulsTaken[k], bagDeviations[d], &cells[s][i][k][d])
					whole.add(&cells[s][i][k][d])
				}
			}
			fmt.Fprintf(&b, "%-13s %-5s on the whole          : %v\n", handStandards[s].id, handCrops[i].name, &whole)
			all.add(&whole)
		}
	}
	fmt.Fprintf(&b, "in all: %v\n", &all)
	return b.String()
}

func TestThePromiseOfTheCheckByHand(t *testing.T) {
	if testing.Short() {
		t.Skip("takes many lots")
	}
	t.Logf("seed %d", handSeed)
	cells := handPromise(t, handLots(t), 7)
	t.Log("\n" + cells.table())
	var all handCell
	for s := range cells {
		for i := range cells[s] {
			var whole handCell
			for k := range cells[s][i] {
				for d := range cells[s][i][k] {
					c := &cells[s][i][k][d]
					whole.add(c)
					if c.gap() < -handTooSure {
						t.Errorf("%s, %s crop, %d handfuls, bags %v: %v", handStandards[s].id, handCrops[i].name, handfulsTaken[k], bagDeviations[d], c)
					}
				}
			}
			if math.Abs(whole.gap()) > handPoints {
				t.Errorf("%s, %s crop: %v", handStandards[s].id, handCrops[i].name, &whole)
			}
			if a := &whole.hand; a.named < handLeast*a.had[0] {
				t.Errorf("%s, %s crop: of %v lots with a remedy, it is named for %v", handStandards[s].id, handCrops[i].name, a.had[0], a.named)
			}
			all.add(&whole)
		}
	}
	a := &all.hand
	if a.agrees < handAgrees*a.advised || a.useless > handUseless*a.advised {
		t.Errorf("of %v remedies the kit gives %v too, and calls %v useless", a.advised, a.agrees, a.useless)
	}
	if a.named < handNamed*a.had[0] {
		t.Errorf("of %v lots with a remedy, it is named for %v", a.had[0], a.named)
	}
	if useless := a.tried - a.said; math.Abs(useless-a.triedUseless) > handPoints/100*a.tried {
		t.Errorf("of %v remedies to be tried, %v are useless; said of %v", a.tried, a.triedUseless, useless)
	}
}

// handLots is how many lots are drawn for each cell; HAND_LOTS says more.
func handLots(t *testing.T) int {
	n, err := strconv.Atoi(cmp.Or(os.Getenv("HAND_LOTS"), "140"))
	if err != nil {
		t.Fatal(err)
	}
	return n
}

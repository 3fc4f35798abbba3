package programme_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
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
const (
	handPoints, handTooSure = 5.0, 10.0
	handAgrees, handUseless = 0.7, 0.1

	handSeed = 20
	// bagsInLot are the lot's bags, bagsSpeared those that the kit's sample is of.
	bagsInLot, bagsSpeared = 12, 6
)

// Fractions of a lot.
const (
	chaff = iota
	stones
	immature
	bored
	stained
	red
	other
	fractions
)

// handCrop is a season: each share is gamma over its lots.
type handCrop struct {
	name        string
	water, wide float64
	mean, shape [fractions]float64
}

var handCrops = [...]handCrop{
	{"clean", 13.2, 0.6, [fractions]float64{0.008, 0.002, 0.006, 0.003, 0.005, 0.02, 0.015}, [fractions]float64{1.5, 1, 1.5, 1, 1, 1, 1}},
	{"rough", 14, 0.9, [fractions]float64{0.03, 0.008, 0.02, 0.012, 0.02, 0.06, 0.04}, [fractions]float64{2, 1, 2, 1.5, 1.5, 1.5, 1}},
}

// paddy is what a lot, or a bag of it, holds: shares of 1, and moisture in percent.
type paddy struct {
	share [fractions]float64
	water float64
}

// handStandards are the limits of the tables, written out again: first without,
// then with those of water. In percent, best first.
var handStandards = [...]struct {
	id    string
	water []float64
	rows  [][]float64
	made  func(p *paddy) []float64
}{
	{"mbuyu-hand", []float64{14, 14, 15}, [][]float64{{1, 0.5, 3, 1, 2, 2}, {2, 1, 6, 3, 4, 5}, {4, 2, 10, 5, 8, 10}}, func(p *paddy) []float64 {
		s := &p.share
		return []float64{s[chaff], s[stones], s[immature], s[bored], s[stained], s[red]}
	}},
	{"agmark-paddy", []float64{14, 14, 14, 14}, [][]float64{{1, 5, 1}, {2, 10, 2}, {4, 15, 5}, {7, 30, 10}}, func(p *paddy) []float64 {
		s := &p.share
		return []float64{s[chaff] + s[stones], s[red] + s[other], s[immature] + s[bored] + s[stained]}
	}},
	{"in-kms", []float64{17}, [][]float64{{1, 1, 5, 4, 3, 6}}, func(p *paddy) []float64 {
		s := &p.share
		return []float64{s[chaff], s[stones], s[bored] + s[stained], s[bored], s[immature], s[red] + s[other]}
	}},
}

// rankOf is the first row all of whose limits are kept, from 1.
func rankOf(water []float64, rows [][]float64, p *paddy, made []float64, once bool) int {
	for i, limits := range rows {
		kept := once || p.water <= water[i]
		for j := range limits {
			kept = kept && 100*made[j] <= limits[j]
		}
		if kept {
			return i + 1
		}
	}
	return len(rows) + 1
}

// gammaOf draws from a gamma of that mean and shape, by the sum of exponentials
// for its whole part and by rejection (Ahrens and Dieter) for what is left.
func gammaOf(r *rand.Rand, mean, shape float64) float64 {
	sum := 0.0
	for range int(shape) {
		sum += r.ExpFloat64()
	}
	if rest := shape - math.Floor(shape); rest > 0 {
		edge := math.E / (math.E + rest)
		for {
			u, v := r.Float64(), r.ExpFloat64()
			if u <= edge {
				if x := math.Pow(u/edge, 1/rest); v >= x {
					sum += x
					break
				}
			} else if x := 1 - math.Log((u-edge)/(1-edge)); v >= (1-rest)*math.Log(x) {
				sum += x
				break
			}
		}
	}
	return mean * sum / shape
}

// draw draws a lot: what it is, and its bags.
func (c *handCrop) draw(r *rand.Rand, deviation float64) (lot paddy, bags [bagsInLot]paddy) {
	for f := range fractions {
		share := gammaOf(r, c.mean[f], c.shape[f])
		for b := range bags {
			bags[b].share[f] = min(unlike(r, share, deviation), 0.4)
			lot.share[f] += bags[b].share[f] / bagsInLot
		}
	}
	water := c.water + c.wide*r.NormFloat64()
	for b := range bags {
		bags[b].water = water + 0.5*deviation*r.NormFloat64()
		lot.water += bags[b].water / bagsInLot
	}
	return lot, bags
}

// unlike draws what a share is in one place, when places differ by a deviation.
func unlike(r *rand.Rand, share, deviation float64) float64 {
	if deviation == 0 {
		return share
	}
	return gammaOf(r, share, 1/(deviation*deviation))
}

// scoop is how far a handful differs from its bag.
const scoop = 0.3

// countedByHand is what somebody counts of a handful from each of some bags: 200
// grains in all, 50 of them husked. Of the small stones a tenth is missed, sand is
// not seen at all, and a fifth of the half-filled grains passes for full.
func countedByHand(r *rand.Rand, bags []paddy) (h grading.Hand) {
	h.Handfuls = uint16(len(bags))
	handfuls := make([]paddy, len(bags))
	for i := range bags {
		handfuls[i] = bags[i]
		for f := range fractions {
			handfuls[i].share[f] = min(unlike(r, bags[i].share[f], scoop), 0.5)
		}
	}
	// What weighs a gram of each, by number.
	const (
		fullGrain              = 0.025
		emptyHusk, straw       = 0.005, 0.009 // 6 and 1.5 parts by mass of ten
		light                  = 0.012        // half filled, and blown out with the chaff: 2.5 parts
		smallStone, largeStone = 0.025, 0.08  // 5 and 3 parts of ten; the rest is sand
	)
	for h.Grains < 200 {
		at := &handfuls[r.IntN(len(handfuls))]
		c, s := at.share[chaff], at.share[stones]
		pieces := []float64{
			0.6 * c / emptyHusk, 0.15 * c / straw, 0.25 * c / light,
			0.5 * s / smallStone, 0.3 * s / largeStone, (1 - c - s) / fullGrain,
		}
		u := 0.0
		for _, n := range pieces {
			u += n
		}
		u *= r.Float64()
		kind := 0
		for ; kind < len(pieces)-1 && u >= pieces[kind]; kind++ {
			u -= pieces[kind]
		}
		switch kind {
		case 0, 1:
			h.Grains++
			h.Empty++
		case 2:
			h.Grains++
			if r.Float64() < 0.8 {
				h.Empty++
			}
		case 3:
			if r.Float64() < 0.9 {
				h.Stones++
			}
		case 4:
			h.Stones++
		case 5:
			h.Grains++
			thin := at.share[immature] / 0.65 // by number: a thin kernel weighs 0.65 of a full one
			if r.Float64() < thin/(thin+1-at.share[immature]) && r.Float64() < 0.8 {
				h.Green++
			}
		}
	}
	h.Husked = min(50, h.Grains-h.Empty)
	for range h.Husked {
		at := &handfuls[r.IntN(len(handfuls))]
		u := r.Float64()
		switch b, d := at.share[bored], at.share[stained]; {
		case u < b:
			h.Bored++
		case u < b+d:
			h.Discoloured++
		case u < b+d+at.share[red]:
			h.Red++
		}
	}
	return h
}

// bitten is what a bitten grain or salt tells of water.
func bitten(r *rand.Rand, water float64) []grading.Flag {
	switch felt := water + 0.5*r.NormFloat64(); {
	case felt > 18:
		return []grading.Flag{grading.VeryWet}
	case felt > 15:
		return []grading.Flag{grading.TooWet}
	}
	return nil
}

// measuredByKit is a full check: 200 g of six bags, 400 grains, three readings of a
// checked meter.
func measuredByKit(r *rand.Rand, bags []paddy) grading.Readings {
	var at paddy
	for i := range bags {
		at.water += bags[i].water / float64(len(bags))
		for f := range fractions {
			at.share[f] += bags[i].share[f] / float64(len(bags))
		}
	}
	out := grading.Readings{Looked: grading.WasLooked, Meter: grading.Meter{Checked: true, Doubt: 0.15 * 1e4}}
	grams := func(x, step float64) grading.Decimal {
		return grading.Decimal(math.Round(math.Round(max(x, 0)/step) * step * 1e4))
	}
	pieces := func(total, mean float64) (sum float64) {
		for t := r.ExpFloat64(); t < total/mean; t += r.ExpFloat64() {
			sum += mean * (0.5 + r.Float64())
		}
		return sum
	}
	bias := 0.15 * r.NormFloat64()
	for range 3 {
		out.Repeats = append(out.Repeats, grams(at.water+bias+0.2*r.NormFloat64(), 0.1))
	}
	const sample = 200.0
	clean := sample * (1 - at.share[chaff] - at.share[stones])
	brown := 0.79 * clean
	out.Set(grading.SampleWeight, grams(sample, 0.01))
	out.Set(grading.Chaff, grams(pieces(sample*at.share[chaff], 0.007), 0.01))
	out.Set(grading.Stones, grams(pieces(sample*at.share[stones], 0.04), 0.01))
	out.Set(grading.CleanWeight, grams(clean, 0.01))
	out.Set(grading.BrownWeight, grams(brown, 0.01))
	out.Set(grading.ImmatureWeight, grams(min(pieces(brown*at.share[immature], 0.013), brown), 0.01))
	var seen [fractions]int
	const grains = 400
	for range grains {
		u := r.Float64()
		for f := bored; f < fractions; f++ {
			if u -= at.share[f]; u < 0 {
				seen[f]++
				break
			}
		}
	}
	out.Set(grading.Counted, grading.NewDecimal(grains))
	for f, field := range map[int]grading.Field{bored: grading.PestDamaged, stained: grading.Discoloured, red: grading.Red, other: grading.OtherVariety} {
		out.Set(field, grading.NewDecimal(seen[f]))
	}
	return out
}

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
		out = append(out, &a.advised, &a.agrees, &a.useless, &a.had[0], &a.had[1], &a.dry[0], &a.dry[1], &a.much[0], &a.much[1])
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
	return fmt.Sprintf("%2.0f %% advised, %2.0f %% by kit, %2.0f %% useless; of %2.0f %% with one %2.0f %%, water felt %2.0f %%, half a grade %2.0f %%",
		percent(a.advised, lots), percent(a.agrees, a.advised), percent(a.useless, a.advised), percent(a.had[0], lots),
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
	c.again.hold(again.Advice.Best.Remedy, &full.Advice, true, wet)
}

// isRemedy reports whether the advice is to do something about what was found.
func isRemedy(id advice.RemedyID) bool {
	rem := advice.RemedyOf(id)
	return rem != nil && (rem.When == advice.NextSeason || rem.Changes())
}

func (a *advices) hold(got advice.RemedyID, full *advice.Advice, felt, wet bool) {
	same := isRemedy(got) && slices.Contains(append(slices.Clone(full.Set), full.Season), got)
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
	if a.advised++; same {
		a.agrees++
		return
	}
	i := slices.IndexFunc(full.Considered, func(o advice.Option) bool { return o.Remedy == got })
	switch full.Considered[i].Reason {
	case advice.NotFound, advice.NoGain, advice.NotMeasured:
		if !(advice.RemedyOf(got).Dries && wet) {
			a.useless++
		}
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
	t.Logf("seed %d", handSeed)
	cells := handPromise(t, 140, 7)
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
			all.add(&whole)
		}
	}
	if a := &all.hand; a.agrees < handAgrees*a.advised || a.useless > handUseless*a.advised {
		t.Errorf("of %v remedies the kit gives %v too, and calls %v useless", a.advised, a.agrees, a.useless)
	}
}

// BenchmarkHandPromise draws 700 lots for every cell and prints the table:
// go test ./session/programme -run - -bench HandPromise -benchtime 1x.
func BenchmarkHandPromise(b *testing.B) {
	for b.Loop() {
		cells := handPromise(b, 700, 7)
		fmt.Fprint(os.Stderr, cells.table())
	}
}

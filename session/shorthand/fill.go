package shorthand

import (
	"errors"
	"slices"
	"strings"

	"threshline/grading"
)

// A bag weighs this much, kg, both inclusive; a number outside is the weight of
// the whole lot or a mistake. Source: common practice, no source.
const (
	minBagKG = 20 * grading.One
	maxBagKG = 150 * grading.One
)

// The most bags and kg that one lot may have. Source: assumed.
const (
	maxBags = 10000 * grading.One
	maxKG   = 1000000 * grading.One
)

// Moisture of grain lies between these, % wet basis, both inclusive: below the first a
// meter shows nothing, above the second it is not grain. Source: assumed.
const (
	minMoisture = 3 * grading.One
	maxMoisture = 60 * grading.One
)

// close gives the collected numbers to the open word.
func (p *parser) close() {
	if p.behind && p.open == "" {
		if len(p.runs) > 0 && !takesNumber(p.at(p.i).key) {
			for _, run := range p.runs {
				p.trouble(Problem{Trouble: LooseNumber, Typed: run})
			}
			p.runs = nil
		}
		return
	}
	key, runs := p.open, p.runs
	if key != "" {
		p.last = key
	}
	p.open, p.runs = "", nil
	switch {
	case key == "":
	case len(runs) == 0 && isLive(key) && !p.letter:
		p.alive = append(p.alive, key)
	case key == handKey:
		p.byHand(runs)
	case len(runs) == 0:
		p.trouble(Problem{Trouble: NoNumber, Key: key})
	case key == bagsKey:
		p.runs, p.open = runs, key
		p.bagged()
		p.open, p.runs = "", nil
	case key == weightKey:
		p.weigh(runs[0])
	case key == biteKey, key == saltKey:
		p.wetTest(key, runs[0])
	case p.handWord(key, runs):
	default:
		p.field(key, runs)
	}
}

// endLot closes the last word of a lot and looks for impossible readings.
func (p *parser) endLot() {
	p.close()
	p.open, p.runs, p.swamp, p.known, p.last, p.words = "", nil, false, false, "", nil
	l := p.lot()
	p.endHand()
	p.count(l)
	l.Unable = slices.DeleteFunc(l.Unable, l.Readings.Has) // what was measured can be measured
	l.Unable = grading.SetOf(l.Unable...).Fields()         // in working order
	if l.Bags > 0 && l.KG > 0 && l.BagKG == 0 && l.KG < minBagKG*grading.Decimal(l.Bags) && l.KG >= minBagKG && l.KG <= maxBagKG {
		if l.BagKG, l.KG = l.KG, 0; !isKilos(p.weighed) { // "10 bags, weight 80"
			p.trouble(Problem{Trouble: LooseNumber, Key: weightKey, Typed: l.BagKG.String()})
			l.BagKG = 0
		} // else "gunia 8, kilo 75" says what a bag weighs
	}
	for range grading.Fields() {
		err := l.Readings.Check()
		var outside *grading.RangeError
		var broken *grading.WholeError
		switch {
		case errors.As(err, &outside):
			got, _ := l.Readings.Get(outside.Field)
			p.trouble(Problem{Trouble: Impossible, Key: outside.Field.String(), Typed: got.String(),
				Min: outside.Min, Max: outside.Max, Over: outside.Over})
			l.Readings.Unset(outside.Field)
		case errors.As(err, &broken):
			p.trouble(Problem{Trouble: Impossible, Key: broken.Field.String(), Typed: broken.Got.String()})
			l.Readings.Unset(broken.Field)
		default:
			return
		}
	}
}

// count counts one live insect where people named insects without a number. If another
// word says that there are none, it asks.
func (p *parser) count(l *Lot) {
	for _, key := range p.alive {
		f, _ := grading.ParseField(key)
		if n, had := l.Readings.Get(f); !had {
			l.Readings.Set(f, grading.One)
		} else if n == 0 {
			p.trouble(Problem{Trouble: Twice, Key: key, Typed: "0"})
		}
	}
	p.alive = nil
}

// field gives numbers to a field of the readings.
func (p *parser) field(key string, runs []string) {
	f, _ := grading.ParseField(key)
	if f == grading.Moisture {
		runs = spaced(runs)
	}
	var values []grading.Decimal
	for _, run := range runs {
		for part := range strings.SplitSeq(run, "+") {
			r := readRun(part, false)
			if r.unclear {
				p.trouble(Problem{Trouble: Ambiguous, Key: key, Typed: run})
				continue
			}
			values = append(values, r.values...)
		}
	}
	readings := &p.lot().Readings
	if f == grading.Moisture {
		p.moisture(values)
		return
	}
	if len(runs) == 1 && strings.Contains(runs[0], "+") {
		p.parts(f, runs[0], values)
		return
	}
	if len(values) > 1 {
		p.trouble(Problem{Trouble: Ambiguous, Key: key, Typed: strings.Join(runs, " ")})
		return
	}
	for _, d := range values {
		old, had := readings.Get(f)
		if was := p.words[f]; had && was != "" && was != p.fold(p.said) && !p.letter && len([]rune(was)) > shortWord {
			readings.Unset(f) // "sand 0.1 gravel 0.1": one of them, or both together
			p.trouble(Problem{Trouble: Twice, Key: key, Typed: strings.Join(runs, " ")})
			continue
		}
		if had && old != d {
			p.trouble(Problem{Trouble: Twice, Key: key, Typed: strings.Join(runs, " ")})
			continue
		}
		readings.Set(f, d)
		if p.words == nil {
			p.words = map[grading.Field]string{}
		}
		p.words[f] = p.fold(p.said)
	}
}

// parts adds up a weight that was given in parts, "0.2+0.6". Of stones, the first part
// is what fell through the sieve.
func (s *slate) parts(f grading.Field, run string, values []grading.Decimal) {
	readings, sum := &s.lot().Readings, grading.Decimal(0)
	for _, d := range values {
		sum += d
	}
	switch old, had := readings.Get(f); {
	case len(values) != strings.Count(run, "+")+1: // one of them is unclear
	case had && old != sum:
		s.trouble(Problem{Trouble: Twice, Key: f.String(), Typed: run})
	default:
		readings.Set(f, sum)
		if f == grading.Stones {
			readings.Set(grading.SandWeight, values[0])
		}
	}
}

// fold brings a word to the form of the lists.
func (t *tape) fold(word string) string { return t.reader.words().fold(t.reader.lang, word) }

func (s *slate) moisture(values []grading.Decimal) {
	readings := &s.lot().Readings
	for _, d := range values {
		if d < minMoisture || d > maxMoisture || len(readings.Repeats) >= maxRepeats {
			s.trouble(Problem{Trouble: Impossible, Key: grading.Moisture.String(), Typed: d.String(), Min: minMoisture, Max: maxMoisture})
			continue
		}
		readings.Repeats = append(readings.Repeats, d)
	}
}

// kilos reads one number of kilos or bags. A point with three digits behind it may mark
// thousands, and so 1.200 is unclear.
func (s *slate) kilos(key, run string, most grading.Decimal) (grading.Decimal, bool) {
	r := readRun(run, true)
	whole, tail, _ := strings.Cut(run, ".")
	if r.unclear || len(r.values) != 1 || len(tail) == 3 && strings.Trim(whole, "0,") != "" {
		s.trouble(Problem{Trouble: Ambiguous, Key: key, Typed: run})
		return 0, false
	}
	d := r.values[0]
	if d <= 0 || d > most || key == bagsKey && d%grading.One != 0 {
		s.trouble(Problem{Trouble: Impossible, Key: key, Typed: run, Min: grading.One, Max: most})
		return 0, false
	}
	return d, true
}

func (p *parser) weigh(run string) {
	d, ok := p.kilos(weightKey, run, maxKG)
	switch {
	case !ok:
	case p.lot().KG > 0 && p.lot().KG != d:
		p.trouble(Problem{Trouble: Twice, Key: weightKey, Typed: run})
	default:
		p.lot().KG, p.weighed = d, p.said
	}
}

// bagged takes how many bags there are, and with a second number what they weigh: one
// bag, or all of them if no bag can weigh so much.
func (p *parser) bagged() {
	if len(p.runs) == 1 && strings.Contains(p.runs[0], ",") {
		if r := readRun(p.runs[0], false); len(r.values) == 2 {
			p.runs = strings.SplitN(p.runs[0], ",", 2)
		}
	}
	n, ok := p.kilos(bagsKey, p.runs[0], maxBags)
	if !ok {
		return
	}
	bags := int(n / grading.One)
	if p.lot().Bags > 0 && p.lot().Bags != bags {
		p.trouble(Problem{Trouble: Twice, Key: bagsKey, Typed: p.runs[0]})
		return
	}
	p.lot().Bags = bags
	if len(p.runs) < 2 {
		return
	}
	switch kg, ok := p.kilos(weightKey, p.runs[1], maxKG); {
	case !ok:
	case kg > maxBagKG:
		p.lot().KG = kg
	case kg < minBagKG && !p.kilosSaid(): // "bags 5 13.9", which may be the moisture
		p.trouble(Problem{Trouble: LooseNumber, Typed: p.runs[1]})
	default:
		p.lot().BagKG = kg
	}
}

// kilosSaid reports whether the numbers of the bags that end here have "kg" with them.
func (t *tape) kilosSaid() bool {
	if t.at(t.i).key == weightKey {
		return true
	}
	for i := t.i - 1; !t.at(i).isBreak() && t.at(i).key != bagsKey; i-- {
		if t.at(i).key == weightKey {
			return true
		}
	}
	return false
}

// each takes bags times kg: the kg are of one bag.
func (p *parser) each() {
	kg, ok := p.kilos(weightKey, p.runs[1], maxBagKG)
	before := len(p.problems)
	p.runs = p.runs[:1]
	p.bagged()
	if ok && len(p.problems) == before {
		p.lot().BagKG = kg
	}
}

// trouble notes a problem of the present lot.
func (s *slate) trouble(problem Problem) {
	problem.Lot = len(s.lots) - 1
	problem.Field, _ = grading.ParseField(problem.Key)
	problem.Example = s.reader.Example(problem.Key)
	if problem.Trouble == WhichDirt {
		problem.Example = s.reader.Example(grading.Chaff.String()) + " " + s.reader.Example(grading.Stones.String())
	}
	s.problems = append(s.problems, problem)
}

func (s *slate) hasProblem(key string) bool {
	return slices.ContainsFunc(s.problems, func(q Problem) bool { return q.Lot == len(s.lots)-1 && q.Key == key })
}

package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"threshline/advice"
	"threshline/grading"
)

// seedFigures are the keys of a lot's "seed": what a seed laboratory found. A
// class is passed by all of them, so that none may be missing.
var seedFigures = []string{"pure", "other_varieties", "red", "weeds", "inert", "germinates"}

// seedWanted says what "seed" has to be.
const seedWanted = `an object with all of pure, weeds, inert, germinates (in percent), other_varieties, red (grains in 500 g)`

// readSeed reads what a lot's object holds under "seed".
func readSeed(data []byte) (*advice.SeedSample, error) {
	given := map[string]json.Number{}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.UseNumber()
	if err := dec.Decode(&given); err != nil || !slices.Equal(slices.Sorted(maps.Keys(given)), slices.Sorted(slices.Values(seedFigures))) {
		return nil, &grading.InputError{Field: "seed", Want: seedWanted}
	}
	figure := map[string]grading.Decimal{}
	for key, text := range given {
		d, err := grading.ParseDecimal(text.String())
		count := key == "other_varieties" || key == "red"
		if err != nil || d < 0 || !count && d > 100*grading.One || count && d%grading.One != 0 {
			return nil, &grading.InputError{Field: "seed." + key, Want: "a percentage, or a whole number of grains in 500 g"}
		}
		figure[key] = d
	}
	return &advice.SeedSample{
		PurePercent: figure["pure"], WeedsPercent: figure["weeds"], InertPercent: figure["inert"], GerminatesPercent: figure["germinates"],
		OtherVarieties: int(figure["other_varieties"] / grading.One), RedRice: int(figure["red"] / grading.One),
	}, nil
}

// judgeSeed tells which class of seed the lot is, or what keeps it out of the class
// that was asked for; out of the last class if none was.
func (g *Grader) judgeSeed(l *lot) error {
	l.seedClass, l.seedFaults = "", nil
	if l.seed == nil {
		if g.Seed != "" {
			return &grading.InputError{Field: "seed", Want: seedWanted}
		}
		return nil
	}
	moisture, ok := advice.MoistureOf(g.Standard, &l.Readings)
	if !ok {
		return &grading.InputError{Field: "moisture", Want: "a reading: seed is passed by its moisture too"}
	}
	l.seed.Moisture = moisture
	classes := advice.SeedClasses()
	if g.Seed != "" {
		classes = []advice.SeedClass{g.Seed}
	}
	for _, class := range classes {
		if l.seedClass, l.seedFaults = class, class.Faults(*l.seed); len(l.seedFaults) == 0 {
			break
		}
	}
	return nil
}

// seedText is the verdict on a seed lot in a line; "" for any other lot.
func seedText(l *lot) string {
	switch {
	case l.seed == nil:
		return ""
	case len(l.seedFaults) == 0:
		return fmt.Sprintf("seed: passes as %s [IRRI-SEED]", l.seedClass)
	}
	limits, _ := l.seedClass.Limits()
	var parts []string
	for _, f := range l.seedFaults {
		parts = append(parts, faultText(f, l.seed, &limits))
	}
	return fmt.Sprintf("seed: not %s: %s [IRRI-SEED]", l.seedClass, strings.Join(parts, "; "))
}

// faultText is one figure against its limit.
func faultText(f advice.SeedFault, s, limits *advice.SeedSample) string {
	percent := func(got, limit grading.Decimal, side string) string {
		return fmt.Sprintf("%s %s %%, at %s %s", f, got.Round(4), side, limit)
	}
	switch f {
	case advice.NotPure:
		return percent(s.PurePercent, limits.PurePercent, "least")
	case advice.Germination:
		return percent(s.GerminatesPercent, limits.GerminatesPercent, "least")
	case advice.WeedSeed:
		return percent(s.WeedsPercent, limits.WeedsPercent, "most")
	case advice.InertMatter:
		return percent(s.InertPercent, limits.InertPercent, "most")
	case advice.TooMoist:
		return percent(s.Moisture, limits.Moisture, "most")
	}
	got, limit := s.OtherVarieties, limits.OtherVarieties
	if f == advice.RedInSeed {
		got, limit = s.RedRice, limits.RedRice
	}
	return fmt.Sprintf("%s %d grains in 500 g, at most %d", f, got, limit)
}

// appendSeed writes the verdict on a seed lot.
func appendSeed(b []byte, l *lot) []byte {
	if l.seed == nil {
		return b
	}
	b = appendText(append(b, `,"seed":{"class":`...), string(l.seedClass))
	return append(appendList(append(b, `,"faults":`...), l.seedFaults), '}')
}

// seed prints the verdict with the laboratory's figures.
func (p *page) seed(l *lot) {
	if l.seed == nil {
		return
	}
	p.heading("As seed")
	s := l.seed
	p.line("pure %s %%, inert %s %%, weed and other crop seed %s %%, germinates %s %%", s.PurePercent, s.InertPercent, s.WeedsPercent, s.GerminatesPercent)
	p.line("other varieties %d and red rice %d grains in 500 g, moisture %s %%", s.OtherVarieties, s.RedRice, s.Moisture.Round(2))
	p.wrap("%s", seedText(l))
}

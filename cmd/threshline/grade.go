package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"

	"threshline/advice"
	"threshline/grading"
	"threshline/session/wording"
)

type gradeCmd struct {
	Standard string `help:"A built-in id, or the path of a standard file; the configuration's, or agmark-paddy, when not given." placeholder:"ID|FILE"`
	Config   string `help:"A programme's configuration, for its prices, kit and climate." type:"existingfile" placeholder:"FILE"`
	JSON     bool   `name:"json" help:"Write one JSON object for each lot."`
	Explain  bool   `help:"Write a page that an auditor can follow, from readings to grade and remedy."`
	Want     string `help:"The grade that every lot must have: exit with 1 when one has not." placeholder:"GRADE"`
	OneLot   bool   `help:"Take the objects as samples of one lot, and answer once for all together."`
	Usual    string `help:"Earlier lots of the same place and season, JSON Lines of readings: chances then lean on what lots there usually hold. It takes 300." type:"existingfile" placeholder:"FILE"`
	Seed     string `help:"The class of certified seed that every lot is to be judged for, by the figures of its \"seed\": breeder, foundation, registered or certified." placeholder:"CLASS"`
	Remedy   bool   `help:"Advise on a remedy; --no-remedy is several times as fast on long lists." default:"true" negatable:""`
	File     string `arg:"" help:"One JSON object of readings, or JSON Lines; - is standard input."`
}

func (cmd *gradeCmd) Help() string {
	return `Each object holds what was measured; leave out what was not:
  {"moisture":[13.8,14.1,13.9],"sample_g":200,"organic_g":2.4,"inorganic_g":0.6,
   "clean_g":196.9,"brown_g":155.2,"immature_g":1.1,"counted":100,"pest_damaged":0,
   "discoloured":1,"red":2,"other_variety":0,"bags":8,"kg":600}
"values" gives a parameter directly, as a laboratory's percentage does, "words" one
that is a word, "flags" what was smelt or seen, "class" the column of a standard
that has classes. "seed" holds a seed laboratory's figures, all of them, for the class
of certified seed that the lot is, by the Philippine scheme [IRRI-SEED]:
  "seed":{"pure":98.2,"inert":1.5,"weeds":0.05,"germinates":86,"other_varieties":3,"red":1}
A reading that cannot be, or a line that is no JSON, is answered by
{"error":…,"field":…} and, after the other lots, exit code 1.`
}

// defaultStandard is what readings are graded by when nothing else is said.
const defaultStandard = "agmark-paddy"

func (cmd *gradeCmd) Run(std stdio) error {
	g, err := cmd.grader()
	if err != nil {
		return err
	}
	in := std.in
	if cmd.File != "-" {
		file, err := os.Open(cmd.File)
		if err != nil {
			return &fault{err, "give the path of a file of readings, or - for standard input"}
		}
		defer file.Close()
		in = file
	}
	out := bufio.NewWriterSize(std.out, 1<<16)
	grade := g.gradeAll
	if cmd.OneLot {
		grade = g.gradeTogether
	}
	n, err := grade(in, out)
	if err := errors.Join(err, out.Flush()); err != nil {
		return err
	}
	switch {
	case n.faults > 0:
		return errSaid
	case n.others > 0:
		return fmt.Errorf("%d of %d lots have not grade %q", n.others, n.lots, g.want)
	}
	return nil
}

// counts is how many lots were read, could not be graded, and had another
// grade than was wanted.
type counts struct{ lots, faults, others int }

// grader grades one lot after another.
type grader struct {
	standard *grading.Standard
	settings advice.Settings
	adviser  advice.Adviser
	words    *wording.Catalogue
	currency string
	write    func(g *grader, l *lot)
	want     grading.GradeLabel
	advise   bool
	seed     advice.SeedClass // "": the purest that a seed lot passes
	buf      []byte
}

// lot is one lot under way.
type lot struct {
	advice.Case
	bags   grading.Decimal
	doubts []grading.Doubt
	advice advice.Advice
	// seed is what a seed laboratory found, nil for other lots.
	seed       *advice.SeedSample
	seedClass  advice.SeedClass
	seedFaults []advice.SeedFault
	// samples are those that the readings were pooled of, when of several.
	samples []grading.Readings
}

func (cmd *gradeCmd) grader() (*grader, error) {
	g := &grader{write: (*grader).appendLine, want: grading.GradeLabel(cmd.Want), advise: cmd.Remedy}
	switch {
	case cmd.Explain && cmd.JSON:
		return nil, &fault{errors.New("--json and --explain are two ways to answer"), "give one of them"}
	case cmd.JSON:
		g.write = (*grader).appendJSON
	case cmd.Explain:
		g.write, g.advise = (*grader).explain, true
	}
	if cmd.Seed != "" && cmd.OneLot {
		return nil, &fault{errNoSeedTogether, "a seed laboratory's figures are of the lot: give them once, without --one-lot"}
	}
	name := cmd.Standard
	if err := g.programme(cmd.Config, &name); err != nil {
		return nil, err
	}
	var err error
	if g.seed, err = seedClass(cmd.Seed); err != nil {
		return nil, err
	}
	if g.standard == nil {
		if g.standard, err = findStandard(name, "."); err != nil {
			return nil, err
		}
	}
	if cmd.Usual != "" {
		if g.settings.Usual, err = usualOf(cmd.Usual, g.settings.Certainty()); err != nil {
			return nil, err
		}
	}
	if err := g.settings.Certainty().Validate(); err != nil {
		return nil, err
	}
	if g.want != "" && g.standard.Rank(g.want) == 0 {
		return nil, &fault{fmt.Errorf("%s has no grade %q", g.standard.ID, g.want), "`threshline standards " + g.standard.ID + "` lists its grades"}
	}
	g.words, err = wording.Embedded()
	return g, err
}

// programme takes prices, kit, climate and, where none is named, the standard
// from a configuration.
func (g *grader) programme(path string, standard *string) error {
	if path == "" {
		if *standard == "" {
			*standard = defaultStandard
		}
		return nil
	}
	cfg, err := loadConfig(path)
	if err != nil {
		return err
	}
	g.currency = cfg.Programme.Currency
	if g.settings, err = cfg.settings(); err != nil {
		return err
	}
	if *standard == "" {
		g.standard, err = cfg.standard()
	}
	return err
}

// gradeAll grades every lot of in. The error is of reading on or of writing; a
// lot that could not be graded is answered and counted.
func (g *grader) gradeAll(in io.Reader, out io.Writer) (n counts, err error) {
	list := newList(in)
	var l lot
	for {
		fault := g.next(list.dec, &l)
		if fault == io.EOF && n.lots > 0 {
			return n, nil
		}
		n.lots++
		g.buf = g.buf[:0]
		if fault != nil {
			n.faults++
			g.appendFault(fault)
		} else {
			g.write(g, &l)
			if g.want != "" && l.Result.Grade != g.want {
				n.others++
			}
		}
		if _, err := out.Write(g.buf); err != nil {
			return n, err
		}
		if fault != nil && !list.pass(fault) {
			return n, nil
		}
	}
}

// next reads, doubts, grades and advises on the next lot.
func (g *grader) next(dec *json.Decoder, l *lot) error {
	readings, extra, err := grading.ReadJSON(dec)
	if err != nil {
		return err
	}
	l.Standard, l.Settings, l.Readings, l.bags, l.KG, l.seed = g.standard, g.settings, readings, 0, 0, nil
	if err := l.size(extra); err != nil {
		return err
	}
	if l.doubts, err = g.doubts(readings); err != nil {
		return err
	}
	if err := g.judgeSeed(l); err != nil {
		return err
	}
	return g.judge(l)
}

// doubts lists what speaks against readings. The error is of one that cannot be.
func (g *grader) doubts(r grading.Readings) ([]grading.Doubt, error) {
	found := grading.Doubts(g.standard, r)
	for _, d := range found {
		if d.Blocks {
			return found, &doubtError{d, g.words}
		}
	}
	return found, nil
}

// judge grades the lot and advises on it.
func (g *grader) judge(l *lot) error {
	if err := g.adviser.Assess(&l.Case); err != nil {
		return err
	}
	if g.advise {
		l.advice = g.adviser.Advise(&l.Case)
	}
	return nil
}

// size reads what the lot's object holds beside readings: bags and kg.
func (l *lot) size(extra map[string]json.RawMessage) error {
	for _, key := range slices.Sorted(maps.Keys(extra)) {
		to := &l.KG
		switch key {
		case "bags":
			to = &l.bags
		case "kg":
		case "seed":
			var err error
			if l.seed, err = readSeed(extra[key]); err != nil {
				return err
			}
			continue
		default:
			return &grading.InputError{Field: key, Want: "a field, values, words, flags, class, bags, kg or seed"}
		}
		if string(extra[key]) == "null" {
			continue // not known
		}
		d, err := grading.ParseDecimal(string(extra[key]))
		switch {
		case key == "bags" && (err != nil || d < 0 || d%grading.One != 0):
			return &grading.InputError{Field: key, Want: "a whole number from 0 to 999999999"}
		case err != nil || d < 0:
			return &grading.InputError{Field: key, Want: "a number from 0 to 999999999, with at most four decimals"}
		}
		*to = d
	}
	return nil
}

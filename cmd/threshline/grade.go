package main

import (
	"bufio"
	"cmp"
	"errors"
	"fmt"
	"os"
	"time"

	"threshline/advice"
	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/report"
	"threshline/grading"
	"threshline/grading/sampling"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/wording"
)

type gradeCmd struct {
	Standard string `help:"A built-in id, or the path of a standard file; the configuration's, or agmark-paddy, when not given." placeholder:"ID|FILE"`
	Config   string `help:"A programme's configuration, for its prices, kit and climate." type:"existingfile" placeholder:"FILE"`
	JSON     bool   `name:"json" help:"Write one JSON object for each lot."`
	Explain  bool   `help:"Write a page that an auditor can follow, from readings to grade and remedy."`
	Want     string `help:"The grade that every lot must have: exit with 1 if one does not have it." placeholder:"GRADE"`
	OneLot   bool   `help:"Take the objects as samples of one lot, and answer once for all together."`
	Usual    string `help:"Earlier lots of the same place and season, JSON Lines of readings: the chances then also use what lots there usually hold. It takes 300, of one \"procedure\" where they name theirs." type:"existingfile" placeholder:"FILE"`
	Seed     string `help:"The class of certified seed that every lot is to be judged for, by the figures of its \"seed\": breeder, foundation, registered or certified." placeholder:"CLASS"`
	Remedy   bool   `help:"Advise on a remedy; --no-remedy is about twice as fast on long lists." default:"true" negatable:""`
	File     string `arg:"" help:"One JSON object of readings, or JSON Lines; - is standard input."`
}

func (cmd *gradeCmd) Help() string {
	return `Each object holds what was measured; leave out what was not:
  {"moisture":[13.8,14.1,13.9],"sample_g":200,"chaff_g":2.4,"stones_g":0.6,
   "clean_g":196.9,"brown_g":155.2,"immature_g":1.1,"counted":100,"pest_damaged":0,
   "discoloured":1,"red":2,"other_variety":0,"bags":8,"kg":600}
Stones that fell through the sieve and stones that were picked can be weighed
apart: "stones_g":"0.2+0.6". "meter" names the meter, one of the configuration's,
or says what a check of it found: {"bias":0.9,"doubt":0.15} reads 0.9 above the oven.
A check by hand, without scale, husker or meter, has its counts in "by_hand": of the
grains counted off handfuls, and of those husked. It gets the likely grades and the
remedy most worth doing, no grade; of several lots, which are worth the kit first:
  "by_hand":{"grains":200,"empty":12,"stones":1,"green":6,"husked":50,"red":4,
   "bored":0,"discoloured":1,"handfuls":3},"flags":["too_wet"]
"values" gives a parameter directly, as a laboratory's percentage does, "words" one
that is a word, "flags" what was smelt or seen, "class" the column of a standard
that has classes. "lab" holds a laboratory's portions of the lot, one or a list,
each with what was weighed (g) or counted; two or more are held against the
repeatability that is published:
  "lab":[{"paddy_g":150,"husked_g":118,"imperfect_g":3,"milled_g":103,"head_g":79,
   "broken_g":24,"examined_g":50,"chalky_g":1.2,"grains":100,"cracked":4},
   {"wet_g":5.012,"dry_g":4.345}]
"seed" holds a seed laboratory's figures, all of them, for the class
of certified seed that the lot is, by the Philippine scheme [IRRI-SEED]:
  "seed":{"pure":98.2,"inert":1.5,"weeds":0.05,"germinates":86,"other_varieties":3,"red":1}
A reading that cannot be, or a line that is not JSON, is answered by
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
	in, end := std.readLarge("grade", in)
	defer end()
	out := bufio.NewWriterSize(std.out, 1<<16)
	grade := g.All
	if cmd.OneLot {
		grade = g.Together
	}
	n, err := grade(in, out)
	if err := errors.Join(err, out.Flush()); err != nil {
		return err
	}
	switch {
	case n.Faults > 0:
		return errSaid
	case n.Others > 0:
		return fmt.Errorf("%d of %d lots do not have grade %q", n.Others, n.Lots, g.Want)
	}
	return nil
}

func (cmd *gradeCmd) grader() (*report.Grader, error) {
	g := &report.Grader{Day: time.Now().Format(time.DateOnly), Want: grading.GradeLabel(cmd.Want), Advise: cmd.Remedy}
	switch {
	case cmd.Explain && cmd.JSON:
		return nil, &fault{errors.New("--json and --explain are two ways to answer"), "give one of them"}
	case cmd.JSON:
		g.Form = report.JSON
	case cmd.Explain:
		g.Form, g.Advise = report.Page, true
	}
	if cmd.Seed != "" && cmd.OneLot {
		return nil, &fault{errNoSeedTogether, "a seed laboratory's figures are of the lot: give them once, without --one-lot"}
	}
	name := cmd.Standard
	if err := gradeByProgramme(g, cmd.Config, &name); err != nil {
		return nil, err
	}
	var err error
	if g.Seed, err = seedClass(cmd.Seed); err != nil {
		return nil, err
	}
	switch {
	case cmd.Seed != "":
		g.Sampling, err = sampling.Choose("", sampling.Seed)
	case g.Sampling.Plan.ID == "":
		g.Sampling, err = sampling.Choose("", "")
	}
	if err != nil {
		return nil, err
	}
	if g.Standard == nil {
		if g.Standard, err = config.FindStandard(name, "."); err != nil {
			return nil, err
		}
	}
	if cmd.Usual != "" {
		if g.Settings.Usual, err = usualOf(cmd.Usual, g.Settings.Certainty()); err != nil {
			return nil, err
		}
	}
	if err := g.Settings.Certainty().Validate(); err != nil {
		return nil, err
	}
	if g.Want != "" && g.Standard.Rank(g.Want) == 0 {
		return nil, &fault{fmt.Errorf("%s has no grade %q", g.Standard.ID, g.Want), "`threshline standards " + g.Standard.ID + "` lists its grades"}
	}
	g.Words, err = wording.Embedded()
	return g, err
}

// gradeByProgramme takes prices, kit, climate and, where none is named, the
// standard from a configuration.
func gradeByProgramme(g *report.Grader, path string, standard *string) error {
	if path == "" {
		*standard = cmp.Or(*standard, defaultStandard)
		return nil
	}
	cfg, err := config.Load(path)
	if err != nil {
		return err
	}
	g.Currency = cfg.Programme.Currency
	if g.Settings, err = cfg.Settings(); err != nil {
		return err
	}
	if g.Sampling, err = cfg.SamplingChoice(); err != nil {
		return err
	}
	var p programme.Programme
	if err := cfg.SetMeters(&p); err != nil {
		return err
	}
	today := time.Now()
	g.Meters = p.MeterNames()
	g.MeterOf = func(name string) grading.Meter { return p.MeterOf(session.Kit{Meter: name}, today) }
	if *standard == "" {
		g.Standard, err = cfg.Standard()
	}
	return err
}

// seedClass reads the class asked for.
func seedClass(name string) (advice.SeedClass, error) {
	class := advice.SeedClass(name)
	if _, ok := class.Limits(); !ok && name != "" {
		return "", &fault{fmt.Errorf("there is no class of seed %q", name), "the classes are " + report.Join(advice.SeedClasses())}
	}
	return class, nil
}

// errNoSeedTogether: figures of several samples are not pooled.
var errNoSeedTogether = errors.New("--seed and --one-lot do not go together")

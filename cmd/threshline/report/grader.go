// Package report prints for the commands grade and standards: lots one after another
// with grades and remedies, as lines, as JSON or as a page that can be followed step by
// step; and a whole standard.
package report

import (
	"encoding/json"
	"errors"
	"io"
	"maps"
	"slices"
	"strings"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/sampling"
	"threshline/session/wording"
)

// Counts is how many lots were read, how many could not be graded, and how many had
// another grade than the wanted one.
type Counts struct{ Lots, Faults, Others int }

// Form is how a lot is answered.
type Form int

// The ways to answer: lines for a person, a line of JSON, or a page that an
// auditor can follow.
const (
	Lines Form = iota
	JSON
	Page
)

// Grader grades one lot after another, by what is set.
type Grader struct {
	Standard *grading.Standard
	Settings advice.Settings
	Words    *wording.Catalogue
	Currency string
	Day      string // "2006-01-02", on which the standard is to be in force; "": that is not asked
	Form     Form
	Want     grading.GradeLabel // other grades are counted; "": none is wanted
	Advise   bool               // on a remedy
	Seed     advice.SeedClass   // "": the purest that a seed lot passes
	// MeterOf is what a configuration knows of the meter of that name; nil if there is
	// no configuration. Meters are the names that it knows.
	MeterOf func(name string) grading.Meter
	Meters  []string
	// Sampling is the plan by which the bags are speared.
	Sampling sampling.Choice
	adviser  advice.Adviser
	buf      []byte
}

// write answers one lot.
func (g *Grader) write(l *lot) {
	switch hand := l.hand != nil; {
	case hand && g.Form == JSON:
		g.appendHandJSON(l)
	case hand && g.Form == Page:
		g.explainHand(l)
	case hand:
		g.appendHandLine(l)
	case g.Form == JSON:
		g.appendJSON(l)
	case g.Form == Page:
		g.explain(l)
	default:
		g.appendLine(l)
	}
}

// lot is one lot under way.
type lot struct {
	advice.Case
	bags   grading.Decimal
	doubts []grading.Doubt
	advice advice.Advice
	// hand is what counts by hand let the lot be, nil where tools measured it.
	hand *handLot
	// seed is what a seed laboratory found, nil for other lots.
	seed       *advice.SeedSample
	seedClass  advice.SeedClass
	seedFaults []advice.SeedFault
	// lab is what a laboratory's portions show.
	lab      []grading.LabValue
	portions []grading.LabPortion
	// samples are those that the readings were pooled of, when of several.
	samples []grading.Readings
	keys    []string // of what the object holds beside readings
}

// All grades every lot of in. The error is of reading or of writing; a lot that could
// not be graded is answered and counted.
func (g *Grader) All(in io.Reader, out io.Writer) (n Counts, err error) {
	list := newList(in)
	var l lot
	var byHand []first
	defer func() {
		if text := firstLook(byHand); text != "" && err == nil && g.Form == Lines && g.Advise {
			_, err = io.WriteString(out, text)
		}
	}()
	for {
		fault := g.next(list, &l)
		if fault == io.EOF && n.Lots > 0 {
			return n, nil
		}
		n.Lots++
		g.buf = g.buf[:0]
		if fault != nil {
			n.Faults++
			g.appendFault(fault)
		} else {
			g.write(&l)
			if l.hand != nil {
				byHand = append(byHand, first{n.Lots, l.hand.likely.MeanRank(), l.hand.worth()})
			}
			if g.Want != "" && (l.hand != nil || l.Result.Grade != g.Want) {
				n.Others++
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

// next reads the next lot, checks it for doubts, grades it and advises on it.
func (g *Grader) next(in *list, l *lot) error {
	readings, extra, err := in.next()
	if err != nil {
		return err
	}
	if err := g.known(&readings); err != nil {
		return err
	}
	l.Standard, l.Settings, l.Readings, l.bags, l.KG, l.seed, l.lab = g.Standard, g.Settings, readings, 0, 0, nil, nil
	if err := l.size(extra); err != nil {
		return err
	}
	if err := g.useLab(l, l.portions); err != nil {
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

// errMeter is what is wrong with a meter that the configuration does not know.
var errMeter = errors.New("no such meter")

// known adds what the programme knows of the meter, if the readings give only its name.
// An unknown name is a fault, as in a roster: otherwise a slip of the pen would leave
// the bias in.
func (g *Grader) known(r *grading.Readings) error {
	if g.MeterOf == nil || r.Meter.Checked || len(r.Repeats) == 0 {
		return nil
	}
	name := r.Meter.Name
	same := func(known string) bool { return strings.EqualFold(known, name) }
	if name != "" && len(g.Meters) > 0 && !slices.ContainsFunc(g.Meters, same) {
		return &grading.NameError{Key: "meter", Got: name, Want: g.Meters, Standard: "the configuration", Kind: errMeter}
	}
	r.Meter = g.MeterOf(name)
	return nil
}

// doubts lists what is doubtful in readings. The error is of a reading that cannot be.
func (g *Grader) doubts(r grading.Readings) ([]grading.Doubt, error) {
	found := grading.Doubts(g.Standard, r)
	for _, d := range found {
		if d.Blocks {
			return found, &doubtError{d, g.Words}
		}
	}
	return found, nil
}

// judge grades the lot and advises on it.
func (g *Grader) judge(l *lot) error {
	if err := g.adviser.Assess(&l.Case); err != nil {
		return err
	}
	if err := g.judgeHand(l); err != nil || l.hand != nil {
		return err
	}
	if g.Advise {
		if l.advice = (advice.Advice{}); g.Form == Page {
			l.advice = g.adviser.Advise(&l.Case)
		} else {
			l.advice = g.adviser.Best(&l.Case)
		}
	}
	return nil
}

// size reads what the lot's object holds beside readings: bags and kg.
func (l *lot) size(extra map[string]json.RawMessage) error {
	l.portions = nil
	l.keys = slices.AppendSeq(l.keys[:0], maps.Keys(extra))
	slices.Sort(l.keys) // the first that is wrong is told
	for _, key := range l.keys {
		to := &l.KG
		switch key {
		case "bags":
			to = &l.bags
		case "kg":
		case "lab":
			var err error
			if l.portions, err = readLab(extra[key]); err != nil {
				return err
			}
			continue
		case "seed":
			var err error
			if l.seed, err = readSeed(extra[key]); err != nil {
				return err
			}
			continue
		default:
			return &grading.InputError{Field: key, Want: "a field, values, words, flags, class, by_hand, bags, kg, lab or seed"}
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

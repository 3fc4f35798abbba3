package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"threshline/grading"
)

// labWanted says what "lab" has to be.
var labWanted = "a portion, or a list of them: objects of weights in g and counts, " + strings.Join(grading.LabNames(), ", ")

// readLab reads what a lot's object holds under "lab": one portion or several.
func readLab(data []byte) (portions []grading.LabPortion, err error) {
	if !bytes.HasPrefix(bytes.TrimSpace(data), []byte{'['}) {
		data = slices.Concat([]byte{'['}, data, []byte{']'})
	}
	var given []map[string]json.Number
	if err := json.Unmarshal(data, &given); err != nil || len(given) == 0 {
		return nil, &grading.InputError{Field: "lab", Want: labWanted}
	}
	for _, one := range given {
		p := grading.LabPortion{}
		for name, text := range one {
			d, err := grading.ParseDecimal(text.String())
			if err != nil {
				return nil, &grading.InputError{Field: "lab." + name, Want: "a plain number of grams, or a count"}
			}
			p[name] = d
		}
		portions = append(portions, p)
	}
	return portions, nil
}

// useLab works out what the portions show, and gives it to the parameters of the
// standard that are made of it.
func (g *Grader) useLab(l *lot, portions []grading.LabPortion) (err error) {
	if l.lab, err = grading.Laboratory(g.Standard, portions); err != nil || len(l.lab) == 0 {
		return err
	}
	values := map[grading.ParameterID]grading.Decimal{}
	maps.Copy(values, l.Readings.Values)
	for i := range l.lab {
		p := g.Standard.LabParameter(l.lab[i].Figure)
		if p == nil {
			continue
		}
		if _, twice := values[p.ID]; twice {
			return &grading.InputError{Field: "values." + string(p.ID), Want: "nothing: lab gives it"}
		}
		values[p.ID] = l.lab[i].Mean
	}
	l.Readings.Values = values
	return nil
}

// portionsText says how far the portions of a figure differ, and what of that cannot be
// judged.
func portionsText(v *grading.LabValue) string {
	var said []string
	switch n := len(v.Each); {
	case n < 2:
		said = append(said, "one portion: how well it repeats cannot be seen")
	case v.Repeatability == 0:
		said = append(said, fmt.Sprintf("%d portions; no repeatability of it was read in any text: how far they may differ is not known", n))
	default:
		said = append(said, fmt.Sprintf("%d portions, within the repeatability of %s %s", n, v.Repeatability, v.Source))
	}
	if len(v.Each) < v.Wants {
		said = append(said, fmt.Sprintf("the mean of %d is wanted", v.Wants))
	}
	return strings.Join(said, "; ")
}

// samplesText says of which parameters the standard takes the mean of more samples.
func (g *Grader) samplesText(l *lot) string {
	given := max(1, len(l.samples))
	short, wants := g.Standard.ShortOfSamples(given)
	if len(short) == 0 {
		return ""
	}
	return fmt.Sprintf("%s: the standard takes the mean of %d samples, %d given (--one-lot takes several)", Join(short), wants, given)
}

// labLines are the laboratory's figures, and which of them have too few samples, in
// lines.
func (g *Grader) labLines(l *lot) (lines []string) {
	for i := range l.lab {
		v := &l.lab[i]
		lines = append(lines, fmt.Sprintf("laboratory: %s %s %%; %s", v.Figure, v.Mean.Round(2), portionsText(v)))
	}
	if text := g.samplesText(l); text != "" {
		lines = append(lines, text)
	}
	return lines
}

// laboratory is the part of the page about it: each portion, and where it is from.
func (p *page) laboratory(g *Grader, l *lot) {
	if len(l.lab) == 0 && g.samplesText(l) == "" {
		return
	}
	p.heading("Laboratory and samples")
	for i := range l.lab {
		v := &l.lab[i]
		var each []string
		for _, d := range v.Each {
			each = append(each, d.Round(2).String())
		}
		p.wrap("%s: %s %%, of %s; %s. Method: %s", v.Figure, v.Mean.Round(2), strings.Join(each, ", "), portionsText(v), v.Source)
	}
	if text := g.samplesText(l); text != "" {
		p.wrap("%s", text)
	}
}

// appendLab writes the laboratory's figures, and which of them have too few samples.
func (g *Grader) appendLab(b []byte, l *lot) []byte {
	for i := range l.lab {
		if v := &l.lab[i]; i == 0 {
			b = append(b, `,"lab":[`...)
			b = appendLabValue(b, v)
		} else {
			b = appendLabValue(append(b, ','), v)
		}
	}
	if len(l.lab) > 0 {
		b = append(b, ']')
	}
	if short, wants := g.Standard.ShortOfSamples(max(1, len(l.samples))); len(short) > 0 {
		b = appendList(append(b, `,"short_of_samples":{"parameters":`...), short)
		b = strconv.AppendInt(append(b, `,"wants":`...), int64(wants), 10)
		b = strconv.AppendInt(append(b, `,"given":`...), int64(max(1, len(l.samples))), 10)
		b = append(b, '}')
	}
	return b
}

func appendLabValue(b []byte, v *grading.LabValue) []byte {
	b = appendText(append(b, `{"figure":`...), string(v.Figure))
	b = append(append(b, `,"percent":`...), v.Mean.Round(2).String()...)
	b = append(b, `,"portions":[`...)
	for i, d := range v.Each {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, d.Round(2).String()...)
	}
	b = append(b, ']')
	if v.Repeatability > 0 {
		b = append(append(b, `,"repeatability":`...), v.Repeatability.String()...)
	} else {
		b = append(b, `,"repeatability":null`...)
	}
	if len(v.Each) < v.Wants {
		b = strconv.AppendInt(append(b, `,"wants_portions":`...), int64(v.Wants), 10)
	}
	return append(b, '}')
}

package report

import (
	"cmp"
	"errors"
	"io"

	"threshline/grading"
	"threshline/grading/chance"
)

// Together takes every object of in as a sample of one lot and answers once. The
// samples weigh by their size. If a sample cannot be, the first such sample is the
// answer: a lot is not graded by a part of what was measured.
func (g *Grader) Together(in io.Reader, out io.Writer) (n Counts, err error) {
	n.Lots = 1
	var l lot
	fault := g.together(newList(in), &l)
	if fault == nil {
		fault = g.judge(&l)
	}
	g.buf = g.buf[:0]
	switch {
	case fault != nil:
		n.Faults++
		g.appendFault(fault)
	default:
		g.write(&l)
		if g.Want != "" && (l.hand != nil || l.Result.Grade != g.Want) {
			n.Others++
		}
	}
	_, err = out.Write(g.buf)
	return n, err
}

// together reads the samples and pools them. Bags and kg are those of the first sample
// that has them; each sample is checked for doubts by itself.
func (g *Grader) together(in *list, l *lot) error {
	l.Standard, l.Settings = g.Standard, g.Settings
	var samples []grading.Readings
	var portions []grading.LabPortion
	for {
		r, extra, err := in.next()
		if err == io.EOF && len(samples) > 0 {
			break
		}
		if err == nil {
			err = g.known(&r)
		}
		if err != nil {
			return err
		}
		one := lot{}
		if err := one.size(extra); err != nil {
			return err
		}
		if one.seed != nil {
			return &grading.InputError{Field: "seed", Want: "nothing with --one-lot: a seed laboratory's figures are of the lot"}
		}
		portions = append(portions, one.portions...)
		l.KG = cmp.Or(l.KG, one.KG)
		l.bags = cmp.Or(l.bags, one.bags)
		found, err := g.doubts(r)
		if err = errors.Join(err, r.Check()); err != nil {
			return err
		}
		l.doubts, samples = append(l.doubts, found...), append(samples, r)
	}
	pooled, err := grading.Combine(g.Standard, samples...)
	l.Readings, l.samples = pooled.Readings, samples
	if err != nil {
		return err
	}
	return g.useLab(l, portions)
}

// apart prints how far two samples of one lot lie apart.
func (p *page) apart(g *Grader, l *lot) {
	if len(l.samples) < 2 {
		return
	}
	p.heading("Samples")
	p.line("%d samples of one lot, taken as one larger sample", len(l.samples))
	for i := range l.samples[1:] {
		differ, err := chance.Differences(g.Standard, l.samples[0], l.samples[i+1], g.Settings.Certainty())
		if err != nil {
			continue // Combine has taken it: only one sample alone cannot be graded
		}
		for _, d := range differ {
			verdict := "as two samples of one lot do"
			if d.Chance < 0.05 {
				verdict = "seldom so far apart in one lot: were they of one lot, mixed well, measured alike?"
			}
			p.wrap("%s: %.2f in the first, %.2f in sample %d, chance of that or more %s: %s",
				d.Parameter, d.First, d.Second, i+2, chanceText(d.Chance), verdict)
		}
	}
}

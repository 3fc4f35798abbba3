package report

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/chance"
)

// formula shows how a value came from the readings, with their numbers.
func formula(param *grading.Parameter, v *grading.ParameterResult, r *grading.Readings) string {
	switch {
	case v.Unit == grading.Word:
		return fmt.Sprintf("%q, as given", v.Word)
	case v.Direct:
		return valueText(v) + ", given directly"
	}
	var parts []string
	if param.Constant != 0 {
		parts = append(parts, param.Constant.String())
	}
	for i := range param.Terms {
		text := termText(param, &param.Terms[i], r)
		switch {
		case param.Terms[i].Negative:
			text = "- " + text
		case len(parts) > 0:
			text = "+ " + text
		}
		parts = append(parts, text)
	}
	exact := v.Value.Round(4)
	sign := "="
	if v.Value.Cmp(exact) != 0 {
		sign = "= about"
	}
	return fmt.Sprintf("%s %s %s, shown %s", strings.Join(parts, " "), sign, exact, valueText(v))
}

func termText(param *grading.Parameter, t *grading.Term, r *grading.Readings) string {
	text := madeOf(t, func(f grading.Field) string {
		v, _ := r.Get(f)
		return fmt.Sprintf("%s %s", f, v)
	})
	switch t.Kind {
	case grading.MeanOf:
		return fmt.Sprintf("(%s) / %d", strings.Join(texts(r.Repeats), " + "), len(r.Repeats))
	case grading.CountPer:
		return fmt.Sprintf("%s x %s g", text, param.Unit.Weight())
	}
	return text
}

func boundText(b *grading.Bound, u grading.Unit) string {
	var parts []string
	if b.Min != nil {
		parts = append(parts, "at least "+LimitText(*b.Min, u))
		if b.MinExclusive {
			parts[0] = "over " + LimitText(*b.Min, u)
		}
	}
	if b.Max != nil {
		text := "at most "
		if b.MaxExclusive {
			text = "under "
		}
		parts = append(parts, text+LimitText(*b.Max, u))
	}
	if b.WorstWord != "" {
		parts = append(parts, fmt.Sprintf("no worse than %q", b.WorstWord))
	}
	return strings.Join(parts, " and ")
}

func chanceText(chance float64) string {
	switch {
	case chance > 0 && chance < 0.001:
		return "under 0.1 %"
	case chance > 0.999:
		return "over 99.9 %" // the model is never surer than that
	case chance == 0:
		return "under 0.1 %"
	}
	return fmt.Sprintf("%.1f %%", 100*chance)
}

// chances says how sure the grade is, and by what model.
func (p *page) chances(g *Grader, l *lot) {
	p.heading("How sure")
	res := &l.Result
	if res.Complete {
		p.line("the lot itself is %s with chance %s, better with chance %s", res.Grade, chanceText(res.Confidence), chanceText(res.Better))
		if res.Likelier != "" {
			p.line("likelier than that is %s, with chance %s", res.Likelier, chanceText(res.LikelierChance))
		}
	} else if res.OutOfGrade() {
		p.line("no chance is given: the readings are missing")
	} else {
		p.line("no chance is given for a grade that is only \"no better than\"")
	}
	if res.Borderline {
		p.line("borderline: a limit that would change the grade lies within a parameter's bounds")
	}
	if s := res.Settle; s != nil {
		p.line("what settles %s in the fewest minutes (%.0f), in all:%s", s.Parameter, s.Minutes, settleText(s))
	} else if res.Borderline {
		p.line("too close to tell by hand: no reasonable amount of measuring would settle it")
	}
	c := g.Settings.Certainty().OrDefault()
	p.wrap("model: counts are binomial, their bounds Clopper-Pearson [NIST-PRC242], their chances the beta posterior "+
		"with a third of a grain added to each side; fractions weighed are specks of %g g, stones of %g g and grains "+
		"of %g g (husked %g g) strewn at random, a gamma fitted to their sum; the scale's step of %g g is an even error; "+
		"moisture is normal, one reading deviating by %g points; a percentage given directly counts as from %g g. These "+
		"figures are assumed, or rest on [IRRI-MILL], [IRRI-PADDYQ] and [ISO-17301], where the programme sets none. "+
		"Parameters are taken as independent. What the spear misses, the eye misjudges, or a meter gets wrong in the "+
		"same way each time is not in it.", c.SpeckWeight, c.StoneWeight, c.GrainWeight, c.HuskedWeight, c.ScaleStep,
		c.MeterRepeatability, c.LabPortion)
	if len(c.Usual) > 0 {
		p.wrap("the chances also use what earlier lots of the place held: %s", usualText(c.Usual))
	}
}

// usualText lists what was learnt, in the order of the fields.
func usualText(usual map[grading.Field]chance.Usual) string {
	var parts []string
	for _, f := range grading.Fields() {
		if u, ok := usual[f]; ok {
			parts = append(parts, fmt.Sprintf("%s %.2f %%, from lot to lot by %.2f", f, u.Mean, u.Deviation))
		}
	}
	return strings.Join(parts, "; ")
}

func settleText(s *grading.Settle) string {
	text := ""
	if s.Grains > 0 {
		text += fmt.Sprintf(" counting %d grains", s.Grains)
	}
	if s.Grams > 0 {
		text += fmt.Sprintf(" sieving and picking %s g", s.Grams)
	}
	if s.Repeats > 0 {
		text += fmt.Sprintf(" taking %d moisture readings", s.Repeats)
	}
	if s.CheckMeter {
		text += " having the meter checked beside an oven, or beside a checked meter"
	}
	return text
}

// remedies lists what was considered, with its figures and why it was not chosen.
func (p *page) remedies(g *Grader, l *lot) {
	p.heading("Remedies considered")
	if l.advice.Best.Remedy == "" {
		p.line("none")
		return
	}
	if a := &l.advice; a.Steps > 1 {
		at := ""
		if a.Incomplete {
			at = ", at best"
		}
		p.line("all %d steps: %s%s, gain %s net of %.1f hours of work", a.Steps, a.SetBecomes, at, g.gainText(a.SetGain, a.Best.InMoney), a.SetHours)
	}
	p.option(g, l, "chosen"+stepText(&l.advice, l.advice.Best.Remedy), &l.advice.Best)
	p.turns(&l.Case)
	for i := range l.advice.Considered {
		if o := &l.advice.Considered[i]; o.Remedy != l.advice.Best.Remedy {
			p.option(g, l, verdictText(&l.advice, o.Remedy), o)
		}
	}
}

// turns marks a choice that would change if an assumed figure were another.
func (p *page) turns(c *advice.Case) {
	for _, t := range advice.Turns(*c) {
		what, by := t.Figure, "half of it"
		if t.Work {
			what = "the work of " + t.Figure
		}
		if t.By > 1 {
			by = "twice that"
		}
		p.wrapAt(4, "turns on an assumed figure: %s; at %s, %s would be chosen", what, by, t.Best)
	}
}

// verdictText says what became of an option that is not the best.
func verdictText(a *advice.Advice, id advice.RemedyID) string {
	switch {
	case slices.Contains(a.Set, id):
		return "besides" + stepText(a, id)
	case id == a.Season:
		return "besides, for the next season"
	case id == a.Meanwhile:
		return "meanwhile, for this lot"
	}
	return "not chosen"
}

// stepText is ", step 1 of 2" for a remedy of a set of several.
func stepText(a *advice.Advice, id advice.RemedyID) string {
	if a.Steps < 2 {
		return ""
	}
	return fmt.Sprintf(", step %d of %d", slices.Index(a.Set, id)+1, a.Steps)
}

func (p *page) option(g *Grader, l *lot, verdict string, o *advice.Option) {
	p.line("%s, %s: %s (%s)", o.Remedy, o.When, verdict, reasonText(o.Reason))
	switch o.Reason {
	case advice.NotFound, advice.NotMeasured, advice.NotOffered, advice.LotTooLarge:
		return // it was not weighed
	}
	if because := becauseText(&o.Because, &l.Result); because != "" {
		p.line("    because %s", because)
	}
	figures := fmt.Sprintf("%s, gain %s", becomesText(o, &l.Result), g.gainText(o.Gain, o.InMoney))
	if o.KGLost > 0 {
		figures += fmt.Sprintf(", %.1f kg less", o.KGLost)
	}
	if o.Hours > 0 {
		figures += fmt.Sprintf(", %.1f hours of work", o.Hours)
	}
	switch {
	case o.CostUnknown:
		figures += ", price not known"
	case o.Cost > 0:
		figures += fmt.Sprintf(", costs %.0f", o.Cost)
	}
	if o.Days > 0 {
		figures += fmt.Sprintf(", a machine is busy with it for %d days", o.Days)
	}
	if o.More != nil {
		figures += ", by" + settleText(o.More) + " beside what was measured"
	}
	if o.Target > 0 {
		figures += fmt.Sprintf(", dried to %s %%", o.Target)
	}
	p.wrapAt(6, "%s", figures)
	for _, id := range o.Cautions {
		p.line("    caution: %s", g.cautionText(id))
	}
	if r := advice.RemedyOf(o.Remedy); r != nil && r.Cause != "" {
		p.line("    usual cause: %s", strings.ReplaceAll(string(r.Cause), "_", " "))
	}
	if r := advice.RemedyOf(o.Remedy); r != nil && r.Tool != "" && r.Tool != "none" {
		p.line("    done with: %s", toolText(r.Tool))
	}
	p.line("    source: %s", o.Source)
}

func (p *page) sources(g *Grader) {
	p.heading("Sources")
	p.line("[%s] %s", g.Standard.SourceTag, g.Standard.Source)
	p.line("rounding half up: [CFR-868 §868.308]")
	p.line("a grade from hand tools is an estimate: the buyer's or the authority's laboratory decides")
}

func sortedKeys[K cmp.Ordered, V any](m map[K]V) []K { return slices.Sorted(maps.Keys(m)) }

package report

import (
	"fmt"
	"slices"
	"strings"

	"threshline/grading"
	"threshline/grading/sampling"
)

// page is text under headings, for a reader who checks every step.
type page struct{ strings.Builder }

func (p *page) heading(title string) { fmt.Fprintf(p, "\n%s\n", strings.ToUpper(title)) }

// pageWidth is where running text is broken, in characters.
const pageWidth = 78

// wrap writes running text, its further lines set in by two more than the first.
func (p *page) wrap(format string, args ...any) { p.wrapAt(2, format, args...) }

func (p *page) wrapAt(indent int, format string, args ...any) {
	text := strings.Repeat(" ", indent)
	for _, word := range strings.Fields(fmt.Sprintf(format, args...)) {
		if len(text)+len(word) >= pageWidth && strings.TrimSpace(text) != "" {
			fmt.Fprintln(p, strings.TrimRight(text, " "))
			text = strings.Repeat(" ", indent+2)
		}
		text += word + " "
	}
	fmt.Fprintln(p, strings.TrimRight(text, " "))
}

func (p *page) line(format string, args ...any) { fmt.Fprintf(p, "  "+format+"\n", args...) }

// explain writes the page for one lot: readings, standard, values with their
// formulas and limits, the rule of combination, chances and their model,
// remedies considered, and sources.
func (g *Grader) explain(l *lot) {
	var p page
	head := string(l.Result.Grade)
	if !l.Result.Complete && !l.Result.OutOfGrade() {
		head = "No better than " + head
	}
	fmt.Fprintf(&p, "%s: %s by %s\n", head, rankText(&l.Result), g.Standard.Title)
	p.readings(l)
	p.sampling(g.Sampling, l)
	p.apart(g, l)
	p.laboratory(g, l)
	p.doubts(g, l)
	p.standard(g.Standard, l.Result.Class, g.Day)
	p.heading("Values and limits")
	for i := range g.Standard.Parameters {
		p.parameter(g.Standard, &g.Standard.Parameters[i], l)
	}
	p.combination(g.Standard, &l.Result)
	p.chances(g, l)
	p.adjustments(g.Standard, &l.Result)
	p.seed(l)
	p.remedies(g, l)
	p.ways(g, l)
	p.drying(g, l)
	p.keeping(g, l)
	p.sources(g)
	p.WriteByte('\n')
	g.buf = append(g.buf, p.String()...)
}

func (p *page) readings(l *lot) {
	p.heading("Readings")
	r := &l.Readings
	if len(r.Repeats) > 0 {
		p.line("%-14s %s %% wet basis", grading.Moisture, strings.Join(texts(r.Repeats), ", "))
	}
	p.meter(r)
	for _, f := range grading.Fields() {
		if v, ok := r.Get(f); ok && f != grading.Moisture {
			unit := " g"
			if f.Kind() == grading.CountField {
				unit = ""
			}
			p.line("%-14s %s%s", f, v, unit)
		}
	}
	for _, param := range sortedKeys(r.Values) {
		p.line("%-14s %s, given directly", param, r.Values[param])
	}
	for _, param := range sortedKeys(r.Words) {
		p.line("%-14s %q", param, r.Words[param])
	}
	p.hand(&r.Hand)
	switch {
	case r.Signed():
		p.line("%-14s %s", "seen or smelt", Join(r.Flags))
	case r.WetByHand() != "":
		p.line("%-14s %s", "bitten, salted", Join(r.Flags))
	case r.Unlooked():
		p.line("%-14s %s", "seen or smelt", notLooked)
	default:
		p.line("%-14s %s", "seen or smelt", "nothing")
	}
	if l.bags > 0 {
		p.line("%-14s %s", "bags", l.bags)
	}
	if l.KG > 0 {
		p.line("%-14s %s", "kg", l.KG)
	}
}

// sampling says how many bags to spear, by which rule and why by that one.
func (p *page) sampling(c sampling.Choice, l *lot) {
	bags := int(l.bags / grading.One)
	if bags < 1 || c.Plan.ID == "" {
		return
	}
	why := "the programme's own"
	if c.Purpose != "" {
		why = "for " + string(c.Purpose)
	}
	p.line("%-14s %d of %d, by the rule %q, %s", "bags to spear", c.Plan.Count(bags), bags, c.Plan.ID, why)
	p.wrapAt(17, "%s: %s; status %s. %s", c.Plan.Title, c.Plan.Source, c.Plan.Status, c.Plan.Note)
}

// meter says which meter read the moisture, and what is taken off for it.
func (p *page) meter(r *grading.Readings) {
	name := strings.TrimSpace("meter " + r.Meter.Name)
	switch v, ok := r.Get(grading.Moisture); {
	case !ok:
	case r.Meter.Checked && r.Meter.Bias != 0:
		p.line("%-14s reads %s above the oven, give or take %s: true %s", name, r.Meter.Bias, r.Meter.Doubt, v.Round(2))
	case r.Meter.Checked:
		p.line("%-14s checked, reads as the oven, give or take %s", name, r.Meter.Doubt)
	default:
		p.line("%-14s not checked: nothing is corrected, and how far such meters lie off widens the chance", name)
	}
}

func (p *page) doubts(g *Grader, l *lot) {
	if len(l.doubts) == 0 {
		return
	}
	p.heading("Doubts about the readings, to be confirmed")
	for i := range l.doubts {
		p.line("%s: %s", l.doubts[i].Again, doubtText(g.Words, &l.doubts[i]))
	}
}

func (p *page) standard(s *grading.Standard, class, day string) {
	p.heading("Standard")
	p.line("%s: %s, %s, %s", s.ID, s.Title, s.Edition, s.Issuer)
	p.line("read at %s [%s], status %s", s.Source, s.SourceTag, s.Status)
	if class != "" {
		p.line("class %s", class)
	}
	if warning := statusWarning(s.Status); warning != "" {
		p.line("WARNING: %s", warning)
	}
	if day != "" && !s.InForce(day) {
		p.line("WARNING: %s", OutOfForce(s))
	}
	p.rounding(s)
	if text := defectOrder(s, class); text != "" {
		p.wrap("%s", text)
	}
}

// rounding says how a value is rounded before it is compared with its limit.
func (p *page) rounding(s *grading.Standard) {
	switch {
	case s.RoundFirst:
		p.line("values are rounded half up, to the decimals shown, before they are compared with a limit")
	case s.MeterStep != 0:
		p.wrap("the standard says nothing of rounding: exact values are compared with the limits, and the mean of meter readings at the meter's step of %s", s.MeterStep)
	default:
		p.line("the standard does not round: exact values are compared, and rounded only to be shown")
	}
}

// statusWarning is the warning that must stand wherever such a table is shown.
func statusWarning(s grading.Status) string {
	switch s {
	case grading.FromMemory:
		return "the limits are recalled and were not read in any text: check them against the standard before use"
	case grading.Weak:
		return "the limits were read in a copy of doubtful provenance: check them against the standard before use"
	case grading.Secondary:
		return "the limits were read in another text about the standard, not in the standard itself"
	case grading.Demo:
		return "an invented table for the demonstration: do not pay anybody by it"
	}
	return ""
}

func (p *page) parameter(s *grading.Standard, param *grading.Parameter, l *lot) {
	v := l.Result.Parameter(param.ID)
	p.line("%s: %s, %s", param.ID, param.Label, unitText(param))
	if v == nil || !v.Measured {
		missing := "not measured; the standard does not need it"
		if param.Required {
			missing = "not measured: missing is not zero"
		}
		p.line("    %s", missing)
		return
	}
	p.line("    value   %s", formula(param, v, &l.Readings))
	if param.Status != "" {
		p.line("            %s: less well known than the rest of the table", param.Status)
	}
	if v.Estimate {
		p.line("            an estimate: hand readings stand for what the standard measures otherwise")
		if param.Note != "" {
			p.wrapAt(14, "%s", param.Note)
		}
	}
	if v.High > v.Low {
		p.line("    bounds  %.3f to %.3f hold the lot's own value in 95 %% of samples", v.Low, v.High)
	}
	for i := range s.Grades {
		if bound, ok := s.Limit(l.Result.Class, i+1, param.ID); ok {
			p.line("    %-8s %-22s met by the lot with chance %s", s.Grades[i].Label, boundText(&bound, param.Unit), chanceText(v.ByRank[i]))
		}
	}
	p.line("    own grade %s", v.Grade)
}

func (p *page) combination(s *grading.Standard, res *grading.Result) {
	p.heading("Grade")
	p.line("rule: %s", ruleText(s))
	for i := range s.Gates {
		state := "does not hold"
		if slices.Contains(res.Gates, s.Gates[i].ID) {
			state = "holds: " + string(s.Gates[i].Outcome)
		} else if slices.Contains(res.Remarks, s.Gates[i].ID) {
			state = "holds, as a remark"
		}
		p.line("gate %s: %s", s.Gates[i].ID, state)
	}
	p.line("grade %s, %s", res.Grade, rankText(res))
	for _, id := range res.Deciding {
		p.line("held down by %s", parameterText(res.Parameter(id)))
	}
	switch {
	case res.Complete:
	case res.OutOfGrade():
		p.line("not measured were %s", Join(res.Missing))
	default:
		p.line("no better than this: not measured were %s", Join(res.Missing))
	}
}

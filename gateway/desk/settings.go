package desk

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"threshline/advice"
	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

type settingsDesk struct {
	*front
	programme *programme.Programme
	channels  []ChannelFacts
}

// settingsPage is what is in force. It is set in the configuration file, not
// here: a page cannot change how lots are graded.
type settingsPage struct {
	Programme, Standard paper.Facts
	Warning             string
	Limits              []paper.Table // one for each class
	Gates               paper.Table
	Prices, Channels    paper.Table
	Climate             paper.Table
}

func (d *settingsDesk) settings(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	p := d.programme
	page := settingsPage{Programme: programmeFacts(p), Standard: standardFacts(p.Standard), Gates: gates(p.Standard)}
	if p.Standard.Status.Warns() {
		page.Warning = "The numbers of this standard were written down from memory. Do not trade on these grades."
	} else if p.Standard.Status == grading.Demo {
		page.Warning = "This standard is invented for the demonstration."
	}
	if today := d.now().Format(time.DateOnly); !p.Standard.InForce(today) {
		page.Warning = strings.TrimSpace("This table is not in force. Do not trade on these grades. " + page.Warning)
	}
	classes := p.Standard.Classes
	if len(classes) == 0 {
		classes = []string{p.Standard.DefaultClass}
	}
	for _, class := range classes {
		page.Limits = append(page.Limits, limitTable(p.Standard, class))
	}
	page.Prices = prices(p)
	page.Channels = paper.Table{Caption: "Ways in and out", Head: paper.Heads("Channel", "Kind", "#Septets a message", "Carrier proves itself by", "#Cost of a segment", "#Budget of a day")}
	for _, c := range d.channels {
		cost, budget := "does not send", ""
		if c.Sends {
			cost, budget = paper.Money(c.PerSegment), "none set"
			if c.DailyLimit > 0 {
				budget = paper.Money(c.DailyLimit)
			}
		}
		page.Channels.Add(c.Name, string(c.Kind), paper.Count(c.Budget), c.Guards, cost, budget)
	}
	return d.show(w, r, v, "settings", "Settings and standard", page)
}

func programmeFacts(p *programme.Programme) (facts paper.Facts) {
	var languages []string
	for _, l := range p.Languages {
		languages = append(languages, string(l))
	}
	facts.Add("Name", p.Name)
	facts.Add("Languages", paper.List(languages))
	facts.Add("Districts", paper.Or(paper.List(p.Districts), "any"))
	facts.Add("Time zone", p.Zone.String())
	facts.Add("Region of numbers", paper.Or(p.Region, "not set"))
	facts.Add("Currency", paper.Or(p.Currency, "not set"))
	if p.BagKG > 0 {
		facts.Add("A bag holds", p.BagKG.String()+paper.Thin+"kg unless said")
	}
	if p.ShortCode != "" {
		facts.Add("People dial", p.ShortCode)
	}
	c := p.Certainty(session.Kit{})
	facts.Add("A filed check can be corrected for", hours(p.CorrectWithin()))
	facts.Add("Consent text", "version "+strconv.Itoa(p.ConsentVersion))
	facts.Add("Moisture meter repeats to", strconv.FormatFloat(c.MeterRepeatability, 'g', 3, 64)+" points")
	facts.Add("Scale step", strconv.FormatFloat(c.ScaleStep, 'g', 3, 64)+paper.Thin+"g unless a person’s own is known")
	facts.Add("What lots here usually hold", usual(p))
	return facts
}

// usual is what was learnt from the programme's own checks; the chances of a
// grade use it.
func usual(p *programme.Programme) string {
	var parts []string
	for _, f := range grading.Fields() {
		if u, ok := p.Advice.Usual[f]; ok {
			name, _, _ := strings.Cut(paper.Say("field", f), ", ")
			parts = append(parts, fmt.Sprintf("%s %.1f%% (%.1f from lot to lot)", strings.ToLower(name), u.Mean, u.Deviation))
		}
	}
	if len(parts) == 0 {
		return "not learnt: it takes " + paper.Count(programme.LearnFrom) + " first checks by this standard, and learn_usual in the configuration"
	}
	return strings.Join(parts, ", ") + ": learnt from their first checks"
}

func hours(d time.Duration) string { return paper.Plural(int(d/time.Hour), "hour") }

func standardFacts(s *grading.Standard) (facts paper.Facts) {
	facts.Add("Title", s.Title)
	facts.Add("Edition", s.Edition)
	facts.Add("Issuer", s.Issuer)
	facts.Add("Id", s.ID)
	facts.Add("Status", paper.Say("status", s.Status))
	facts.Add("Source", s.Source)
	add := func(term, text string) {
		if text != "" {
			facts.Add(term, text)
		}
	}
	add("Source tag", s.SourceTag)
	add("Valid from", s.ValidFrom)
	add("Valid to", s.ValidTo)
	add("Based on", s.Parent)
	add("Note", s.Note)
	rounding := "values are compared as they are"
	switch {
	case s.MeterStep != 0:
		rounding = "values are compared as they are, the mean of meter readings rounded to " + s.MeterStep.String()
	case s.RoundFirst:
		rounding = "values are rounded to the decimals shown before they are compared"
	}
	add("Rounding", rounding)
	add("How parameters combine", map[grading.Rule]string{
		grading.WorstOf: "the worst parameter decides", grading.MatrixOf: "two parameters’ bands give the grade",
		grading.LeadParam: "one parameter gives the grade, the others are remarks", grading.PassFail: "passed or not",
	}[s.Rule])
	return facts
}

// limitTable lists a standard's limits for a class, a column for each grade.
func limitTable(s *grading.Standard, class string) paper.Table {
	t := paper.Table{Caption: "Limits" + map[bool]string{true: ", class " + class}[class != ""], Head: paper.Heads("Parameter", "Unit")}
	for i := range s.Grades {
		t.Head = append(t.Head, paper.Column{Label: string(s.Grades[i].Label), Number: true})
	}
	for i := range s.Parameters {
		p := &s.Parameters[i]
		label := p.Label
		if p.Required {
			label += ", required"
		}
		if p.Estimate {
			label += ", estimated by hand"
		}
		row := paper.Cells(label, paper.Unit(p.Unit, p.Basis))
		for g := range s.Grades {
			text := "no limit"
			if b, ok := s.Grades[g].Bound(class, p.ID); ok {
				text = boundText(&b, p.Decimals)
			}
			row = append(row, paper.Cell{Text: text})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// gates lists what stops a lot outside the ladder.
func gates(s *grading.Standard) paper.Table {
	t := paper.Table{Caption: "What stops a lot outside the ladder of grades", Head: paper.Heads("Condition", "When", "Outcome")}
	for i := range s.Gates {
		g := &s.Gates[i]
		outcome := string(g.Outcome)
		if g.Remark {
			outcome = "a remark only"
		}
		t.Add(paper.Say("gate", g.ID), strings.Join(conditions(g), ", or "), outcome)
	}
	return t
}

func prices(p *programme.Programme) paper.Table {
	t := paper.Table{Caption: "Money that a remedy is weighed by, " + p.Currency, Head: paper.Heads("What", "#Amount")}
	for i := range p.Standard.Grades {
		label := p.Standard.Grades[i].Label
		if price, ok := p.Advice.Prices[label]; ok {
			t.Add(string(label)+", per kg", paper.Number(price.String()))
		}
	}
	if p.Advice.OutPrice > 0 {
		t.Add(string(p.Standard.OutOfGrade)+", per kg", paper.Number(p.Advice.OutPrice.String()))
	}
	if p.Advice.DayWage > 0 {
		t.Add("A day of work", paper.Number(p.Advice.DayWage.String()))
	}
	for _, r := range advice.Remedies() {
		if !r.Paid || r.Sown || r.PaidAs != "" {
			continue
		}
		if fee, ok := p.Advice.Tariffs[r.ID]; ok {
			t.Add(paper.Say("remedy", r.ID)+", per lot and per tonne", paper.Number(fee.Fixed.String())+" and "+paper.Number((1000*fee.PerKG).String()))
		}
	}
	if seed, ok := p.Advice.Seed.For(1000 * grading.One); ok {
		t.Add("Certified seed for what gives a tonne", paper.Money(seed))
	}
	for _, x := range p.Advice.Deductions {
		t.Add("Cut for moisture over "+x.Over.String()+" and not over "+x.UpTo.String()+"%", x.Cut.String()+"%")
	}
	return t
}

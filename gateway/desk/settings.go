package desk

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"threshline/grading"
	"threshline/session"
)

// settingsPage is what is in force. It is set in the configuration file, not
// here: a page cannot change how lots are graded.
type settingsPage struct {
	Programme, Standard []fact
	Warning             string
	Limits              []table // one for each class
	Gates               table
	Prices, Channels    table
	Climate             table
}

func (d *Desk) settings(w http.ResponseWriter, r *http.Request, v *visitor) error {
	p := d.cfg.Programme
	page := settingsPage{Programme: d.programmeFacts(), Standard: standardFacts(p.Standard), Gates: gates(p.Standard)}
	if p.Standard.Status.Warns() {
		page.Warning = "The numbers of this standard were written down from memory. Do not trade on these grades."
	} else if p.Standard.Status == grading.Demo {
		page.Warning = "This standard is invented for the demonstration."
	}
	classes := p.Standard.Classes
	if len(classes) == 0 {
		classes = []string{p.Standard.DefaultClass}
	}
	for _, class := range classes {
		page.Limits = append(page.Limits, limitTable(p.Standard, class))
	}
	page.Prices = d.prices()
	page.Channels = table{Caption: "Ways in and out", Head: heads("Channel", "Kind", "#Septets a message", "Carrier proves itself by", "#Cost of a segment", "#Budget of a day")}
	for _, c := range d.cfg.Channels {
		cost, budget := "does not send", ""
		if c.Sends {
			cost, budget = money(c.PerSegment), "none set"
			if c.DailyLimit > 0 {
				budget = money(c.DailyLimit)
			}
		}
		page.Channels.Rows = append(page.Channels.Rows, cells(c.Name, string(c.Kind), count(c.Budget), c.Guards, cost, budget))
	}
	d.show(w, r, http.StatusOK, v, "settings", "Settings and standard", page)
	return nil
}

func (d *Desk) programmeFacts() []fact {
	p := d.cfg.Programme
	var languages []string
	for _, l := range p.Languages {
		languages = append(languages, string(l))
	}
	facts := []fact{
		{"Name", p.Name}, {"Languages", list(languages)}, {"Districts", saidOf(list(p.Districts), "any")},
		{"Time zone", p.Zone.String()}, {"Region of numbers", saidOf(p.Region, "not set")}, {"Currency", saidOf(p.Currency, "not set")},
	}
	if p.BagKG > 0 {
		facts = append(facts, fact{"A bag holds", p.BagKG.String() + thin + "kg unless said"})
	}
	if p.ShortCode != "" {
		facts = append(facts, fact{"People dial", p.ShortCode})
	}
	c := p.Certainty(session.Kit{})
	return append(facts,
		fact{"A filed check can be mended for", hours(p.MendWithin())},
		fact{"Consent text", "version " + strconv.Itoa(p.ConsentVersion)},
		fact{"Moisture meter repeats to", strconv.FormatFloat(c.MeterRepeatability, 'g', 3, 64) + " points"},
		fact{"Balance step", strconv.FormatFloat(c.BalanceStep, 'g', 3, 64) + thin + "g unless a person’s own is known"},
		fact{"What lots here usually hold", usual(p)},
	)
}

// usual is what was learnt from the programme's own checks, on which the chances
// of a grade lean.
func usual(p *session.Programme) string {
	var parts []string
	for _, f := range grading.Fields() {
		if u, ok := p.Advice.Usual[f]; ok {
			name, _, _ := strings.Cut(say("field", f), ", ")
			parts = append(parts, fmt.Sprintf("%s %.1f"+thin+"%% (%.1f from lot to lot)", strings.ToLower(name), u.Mean, u.Deviation))
		}
	}
	if len(parts) == 0 {
		return "not learnt: it takes " + count(session.LearnFrom) + " first checks by this standard, and learn_usual in the configuration"
	}
	return strings.Join(parts, ", ") + ": learnt from their first checks"
}

func hours(d time.Duration) string { return plural(int(d/time.Hour), "hour") }

func standardFacts(s *grading.Standard) []fact {
	facts := []fact{
		{"Title", s.Title}, {"Edition", s.Edition}, {"Issuer", s.Issuer}, {"Id", s.ID},
		{"Status", say("status", s.Status)}, {"Source", s.Source},
	}
	add := func(term, text string) {
		if text != "" {
			facts = append(facts, fact{term, text})
		}
	}
	add("Source tag", s.SourceTag)
	add("Valid from", s.ValidFrom)
	add("Valid to", s.ValidTo)
	add("Based on", s.Parent)
	add("Note", s.Note)
	rounding := "values are compared as they are"
	if s.RoundFirst {
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
func limitTable(s *grading.Standard, class string) table {
	t := table{Caption: "Limits" + map[bool]string{true: ", class " + class}[class != ""], Head: heads("Parameter", "Unit")}
	for i := range s.Grades {
		t.Head = append(t.Head, column{string(s.Grades[i].Label), true})
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
		row := cells(label, unit(p.Unit, p.Basis))
		for g := range s.Grades {
			text := "no limit"
			if b, ok := s.Grades[g].Bound(class, p.ID); ok {
				text = boundText(&b, p.Decimals)
			}
			row = append(row, cell{Text: text})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// gates lists what stops a lot outside the ladder.
func gates(s *grading.Standard) table {
	t := table{Caption: "What stops a lot outside the ladder of grades", Head: heads("Condition", "When", "Outcome")}
	for i := range s.Gates {
		g := &s.Gates[i]
		var when []string
		for _, f := range g.Flags {
			when = append(when, say("saw", f))
		}
		if g.Insects != nil {
			when = append(when, "live insects")
		}
		if g.Parameter != "" {
			when = append(when, string(g.Parameter)+" not "+boundText(&g.Bound, 1))
		}
		outcome := string(g.Outcome)
		if g.Remark {
			outcome = "a remark only"
		}
		t.Rows = append(t.Rows, cells(say("gate", g.ID), strings.Join(when, ", or "), outcome))
	}
	return t
}

func (d *Desk) prices() table {
	p := d.cfg.Programme
	t := table{Caption: "Money that a remedy is weighed by, " + p.Currency, Head: heads("What", "#Amount")}
	for i := range p.Standard.Grades {
		label := p.Standard.Grades[i].Label
		if price, ok := p.Advice.Prices[label]; ok {
			t.Rows = append(t.Rows, cells(string(label)+", per kg", price.String()))
		}
	}
	if p.Advice.OutPrice > 0 {
		t.Rows = append(t.Rows, cells(string(p.Standard.OutOfGrade)+", per kg", p.Advice.OutPrice.String()))
	}
	if p.Advice.DayWage > 0 {
		t.Rows = append(t.Rows, cells("A day of work", p.Advice.DayWage.String()))
	}
	for _, x := range p.Advice.Deductions {
		t.Rows = append(t.Rows, cells("Cut for moisture over "+x.Over.String()+" and not over "+x.UpTo.String()+" %", x.Cut.String()+" %"))
	}
	return t
}

package desk

import (
	"math"
	"net/http"
	"strconv"
	"strings"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/session"
	"threshline/session/ledger"
)

// findingsPage lists the findings: reports to look at again, each with its
// figures and with a harmless explanation.
type findingsPage struct {
	ledgerPage
	Findings []finding
	Tests    int
	Tested   paper.Table
	Named    bool
	Rest     rest
	Wait     bool   // they are still being looked for
	AsOf     string // when they were found, if a little ago
}

// finding is one of the ledger in words.
type finding struct {
	Who      paper.Cell
	What     string
	Figures  string
	Harmless string
	Next     string
	Sure     string
}

func (d *seasonDesk) findings(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	p, c, err := d.over(w, r, v, ledger.EveryProcedure, ledger.WithKit)
	if err != nil {
		return err
	}
	tested := d.figures.Findings(c.Filter, d.figures.Enough())
	if !tested.Ready {
		comeBack(w)
		return d.show(w, r, v, "findings", findingsTitle, findingsPage{ledgerPage: p, Wait: true})
	}
	q := tested.Result
	page := findingsPage{ledgerPage: p, Tests: q.Tests, Named: v.May(session.DeskCoordinator), AsOf: tested.Old(d.zone)}
	for i := range q.Findings {
		if i == rowsOf(r, mostRows) {
			page.Rest = restOf(&c, r.URL.Path, "finding", i, len(q.Findings))
			break
		}
		page.Findings = append(page.Findings, d.finding(v, &c, &q.Findings[i]))
	}
	page.Tested = paper.Table{Caption: "What was looked at", Head: paper.Heads("What", "#Tests", "#Looked at", "Not tested")}
	for _, reason := range ledger.Reasons() {
		look := q.Looked[reason]
		page.Tested.Add(paper.Say("odd", reason), paper.Count(look.Tests), paper.Count(look.Checks), untested(&look))
	}
	if page.Named && len(page.Findings) > 0 {
		if err := d.seen(r.Context(), v, "the names in findings", c.coded(d.terms, v)); err != nil {
			return err
		}
	}
	return d.show(w, r, v, "findings", findingsTitle, page)
}

const findingsTitle = "Findings"

// finding says one of the ledger.
func (d *seasonDesk) finding(v *access.Visitor, c *chosen, f *ledger.Finding) finding {
	return finding{
		Who:      paper.Cell{Text: d.nameOf(v, f.Reporter), Link: "/desk/growers/" + string(f.Reporter)},
		What:     paper.Say("odd", f.Reason),
		Figures:  figures(f),
		Harmless: paper.Say("harmless", f.Reason),
		Next:     paper.Say("look", f.Reason),
		Sure: "By chance alone, as much or more would be seen " + odds(f.Chance) + "; corrected for everything that was looked at, " +
			odds(f.Corrected) + ".",
	}
}

// untested says how many people's reports were not tested, and why.
func untested(look *ledger.Look) string {
	var parts []string
	for _, why := range ledger.Whys() {
		if n := look.Left[why]; n > 0 {
			parts = append(parts, paper.Count(n)+": "+paper.Say("untested", why))
		}
	}
	if parts == nil && look.Tests == 0 {
		return "there is nothing of the kind"
	}
	return strings.Join(parts, "; ")
}

// figures are a flag's figures in a sentence.
func figures(f *ledger.Finding) string {
	two := func(x float64) string { return strconv.FormatFloat(x, 'f', 2, 64) }
	switch f.Reason {
	case ledger.LastDigits:
		return paper.Say("field", f.Field) + ": the last digit is " + strconv.Itoa(f.Digit) + " in " + paper.Percent(f.Found) + " of " + paper.Plural(f.Checks, "reading") +
			", where about " + paper.Percent(f.Expected) + " would be usual (chi-square " + strconv.FormatFloat(f.Statistic, 'f', 0, 64) + " on " +
			strconv.FormatFloat(f.Freedom, 'f', 0, 64) + " degrees of freedom)."
	case ledger.SameReadings:
		return strconv.FormatFloat(f.Found, 'f', 0, 64) + " sets of readings among " + paper.Plural(f.Checks, "check") +
			" are the same as another grower’s, where chance would bring " + two(f.Expected) + "."
	case ledger.SameMoisture:
		return "The moisture readings of " + strconv.FormatFloat(f.Found, 'f', 0, 64) + " among " + paper.Plural(f.Checks, "check") +
			" are the same, in the same order, as those of another grower’s lot, where chance would bring " + two(f.Expected) + "."
	case ledger.NarrowRepeats:
		return "Moisture readings of one lot differ by " + two(f.Found) + " points (standard deviation) over " + paper.Plural(f.Checks, "check") +
			", where the meter alone brings " + two(f.Expected) + "."
	case ledger.RecheckGrades:
		return "Of " + paper.Plural(f.Checks, "lot") + " that somebody else graded differently, " + paper.Percent(f.Found) + " got a worse grade, where " +
			paper.Percent(f.Expected) + " would be usual."
	case ledger.RecheckCounts:
		return "Over " + paper.Plural(f.Checks, "lot") + " that somebody else checked again, " + paper.Percent(f.Found) +
			" of grains were counted as faulty, where both counts together let expect " + paper.Percent(f.Expected) + "."
	case ledger.NeighbourGrades:
		way := "better"
		if f.Found > 0 {
			way = "worse"
		}
		return "Grades of " + paper.Plural(f.Checks, "check") + " are " + two(math.Abs(f.Found)) + " of a grade " + way +
			" on average than others’ in the same district and month."
	}
	return paper.Percent(f.Found) + " of " + paper.Plural(f.Checks, "check") + ", where at most " + paper.Percent(f.Expected) + " would be usual."
}

// odds is a small chance in words.
func odds(p float64) string {
	switch {
	case p < 1.0/1_000_000_000:
		return "less than once in a thousand million"
	case p > 0.5:
		return "more often than not"
	}
	return "once in " + paper.Count(int(math.Round(1/p)))
}

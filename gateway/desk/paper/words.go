package paper

import (
	"bufio"
	"fmt"
	"html/template"
	"math"
	"strings"
	"time"

	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger/figure"
)

// phrases are the English of the ids that other packages give, by kind and id.
var phrases = readPhrases()

func readPhrases() map[string]string {
	m := map[string]string{}
	data, err := files.ReadFile("page/words.txt")
	if err != nil {
		return m // a test finds words that are not there
	}
	for lines := bufio.NewScanner(strings.NewReader(string(data))); lines.Scan(); {
		key, text, ok := strings.Cut(lines.Text(), " = ")
		if ok && !strings.HasPrefix(key, "#") {
			m[key] = text
		}
	}
	return m
}

// Say is the desk's phrase for an id; an id without one is shown as it is.
func Say(kind string, id any) string {
	key := fmt.Sprint(id)
	if text, ok := phrases[kind+"."+key]; ok {
		return text
	}
	return strings.ReplaceAll(key, "_", " ")
}

// words are the functions that templates say things with.
func words(zone *time.Location) template.FuncMap {
	return template.FuncMap{
		"say":     Say,
		"list":    func(s []string) string { return List(s) },
		"icon":    func() string { return Icon.Path },
		"percent": Percent, "part": Part, "lots": func(n int) string { return Plural(n, "lot") }, "share": Share, "interval": Interval, "count": Count, "weight": Weight, "money": Money,
		"decimal": func(d grading.Decimal, places int) string { return d.Fixed(places) },
		"chance":  Chance,
		"day":     func(t time.Time) string { return t.In(zone).Format("2 Jan 2006") },
		"dayof":   Day,
		"moment":  func(t time.Time) string { return t.In(zone).Format(DateTime) },
		"slip":    func(s session.Slip) string { return string(s) },
	}
}

// List joins words as a sentence does.
func List(s []string) string {
	switch len(s) {
	case 0:
		return ""
	case 1:
		return s[0]
	}
	return strings.Join(s[:len(s)-1], ", ") + " and " + s[len(s)-1]
}

// Thin is the space between a number and its unit; it does not break at the end
// of a line.
const Thin = "\u202f"

// Part is the share of lots in percent, or says that there was nothing to count: a
// share of nothing is not 0%.
func Part(s figure.Share, checks int) string {
	switch {
	case checks == 0:
		return "no checks"
	case s.Of == 0: // each was checked again elsewhere, or later
		return "no lots"
	}
	return Percent(s.Value())
}

// Share is a share with its counts: "62% (31 of 50)".
func Share(s figure.Share) string {
	if s.Of == 0 {
		return "none yet"
	}
	return Percent(s.Value()) + " (" + Count(s.Count) + " of " + Count(s.Of) + ")"
}

// Interval is the exact 95% interval of a share.
func Interval(s figure.Share) string {
	if s.Of == 0 {
		return "not known"
	}
	low, high := s.Interval()
	return Percent(low) + " to " + Percent(high)
}

// Weight is kg, or tonnes from ten of them; a dash when it is not known.
func Weight(d grading.Decimal) string {
	kg := d.Float()
	switch {
	case kg == 0:
		return "–"
	case kg < 10_000:
		return Count(int(math.Round(kg))) + Thin + "kg"
	case kg < 100_000:
		return Figure(kg/1000, 1) + Thin + "t"
	}
	return Count(int(math.Round(kg/1000))) + Thin + "t"
}

// Money is an amount in the programme's currency, whole from a hundred.
func Money(f float64) string {
	if math.Abs(f) >= 100 {
		return Count(int(math.Round(f)))
	}
	return Figure(f, 2)
}

// Chance is a probability in percent; it never says 0 or 100 of something uncertain.
func Chance(f float64) string {
	switch {
	case f > 0 && f < 0.01:
		return "under " + InPercent("1")
	case f > 0.99 && f < 1:
		return "over " + InPercent("99")
	}
	return InPercent(Figure(f*100, 0))
}

// DateTime is how a moment is written; the day does not break.
const DateTime = "2\u00a0Jan\u00a02006, 15:04"

// Plural is a number of things: "1 lot", "3 lots".
func Plural(n int, what string) string {
	if n == 1 {
		return "1" + Thin + what
	}
	return Count(n) + Thin + what + "s"
}

// Or is a text, or what to say if it is empty.
func Or(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

// Day is a day as people write it, from its ISO form.
func Day(iso string) string {
	t, err := time.Parse(time.DateOnly, iso)
	if err != nil {
		return iso
	}
	return t.Format("2 Jan 2006")
}

// Unit says what a value is measured in.
func Unit(u grading.Unit, b grading.Basis) string {
	if u == "" {
		return ""
	}
	if b == "" || u == grading.PercentWet || !u.Percentage() {
		return string(u)
	}
	return string(u) + " " + Say("basis", b)
}

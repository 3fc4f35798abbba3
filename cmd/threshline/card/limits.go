package card

import (
	"strings"

	"threshline/cmd/threshline/report"
	"threshline/grading"
)

// cardLimits is the table of the standard in force.
type cardLimits struct {
	Title, Class, Status, Source string
	Optional                     string // what the star behind a name means; "" without any
	Grades                       []string
	Rows                         []cardRow
	// Gates are what stops a lot whatever the table says.
	Gates []cardItem
}

type cardRow struct {
	Name  string
	Cells []string
}

func (m *cardMaker) limits() cardLimits {
	s := m.p.Standard
	title, issuer := s.Title+", "+s.Edition, s.Issuer
	if s.Status == grading.Demo { // that it is invented is said in the card's language
		title, issuer = s.Title, strings.TrimSuffix(s.Issuer, " (invented)")
	}
	t := cardLimits{
		Title: title, Class: m.class(s.DefaultClass),
		Status: m.say("card.status_" + strings.ReplaceAll(string(s.Status), " ", "_")),
		Source: issuer + " [" + s.SourceTag + "]",
	}
	for i := range s.Grades {
		t.Grades = append(t.Grades, m.grade(s.Grades[i].Label))
	}
	for i := range s.Parameters {
		p := &s.Parameters[i]
		row := cardRow{Name: m.parameter(p)}
		limited := false
		for rank := range s.Grades {
			b, ok := s.Limit(s.DefaultClass, rank+1, p.ID)
			limited = limited || ok
			row.Cells = append(row.Cells, m.bound(&b, p.Unit, ok))
		}
		if limited {
			t.Rows = append(t.Rows, row)
		}
		if limited && !p.Required {
			t.Optional = "* " + m.say("card.optional")
		}
	}
	t.Gates = m.gates()
	return t
}

// gates lists what stops a lot, outcome by outcome.
func (m *cardMaker) gates() (items []cardItem) {
	for i := range m.p.Standard.Gates {
		g := &m.p.Standard.Gates[i]
		why, outcome := m.gate(g), m.grade(g.Outcome)
		if g.Remark || why == "" {
			continue
		}
		if last := len(items) - 1; last >= 0 && items[last].Term == outcome {
			items[last].Text += ", " + why
			continue
		}
		items = append(items, cardItem{outcome, why})
	}
	return items
}

// grade is a grade's label, or the catalogue's word for an outcome outside the
// ladder.
func (m *cardMaker) grade(label grading.GradeLabel) string {
	word := strings.TrimPrefix(string(label), "Grade ")
	key := "grade_name." + strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
			return r
		}
		return '_'
	}, strings.ToLower(word))
	if m.words.Has(m.lang, key) {
		return m.say(key)
	}
	return word
}

// class is the catalogue's word for a class of the standard.
func (m *cardMaker) class(class string) string {
	if key := "class." + class; m.words.Has(m.lang, key) {
		return m.say(key)
	}
	return strings.ReplaceAll(class, "_", " ")
}

func (m *cardMaker) parameter(p *grading.Parameter) string {
	name := p.Label
	if key := "parameter." + string(p.ID); m.words.Has(m.lang, key) {
		name = m.say(key)
	}
	if p.Unit.Percentage() {
		name += " %"
	}
	if p.Required {
		return name
	}
	return name + " *"
}

// bound writes a limit with signs, which are read the same in every language.
func (m *cardMaker) bound(b *grading.Bound, u grading.Unit, ok bool) string {
	if !ok {
		return "\u2013"
	}
	number := func(d grading.Decimal) string { return m.words.Number(m.lang, report.LimitText(d, u)) }
	var parts []string
	if b.Min != nil {
		parts = append(parts, sign("\u2265", ">", b.MinExclusive)+" "+number(*b.Min))
	}
	if b.Max != nil {
		parts = append(parts, sign("\u2264", "<", b.MaxExclusive)+" "+number(*b.Max))
	}
	if b.WorstWord != "" {
		parts = append(parts, "\u2264 "+b.WorstWord)
	}
	return strings.Join(parts, ", ")
}

func sign(inclusive, exclusive string, isExclusive bool) string {
	if isExclusive {
		return exclusive
	}
	return inclusive
}

// gate says what makes a gate hold: what is seen or smelt, or live insects.
func (m *cardMaker) gate(g *grading.Gate) string {
	var out []string
	for _, f := range g.Flags {
		out = append(out, m.say("flag."+string(f)))
	}
	if g.Insects != nil {
		out = append(out, m.say("flag.live_others"))
	}
	return strings.Join(out, ", ")
}

package desk

import (
	"fmt"
	"net/url"
	"slices"
	"strings"
	"time"

	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
)

// filterKeys are the criteria in an address, in the order in which a filter is
// said in words.
var filterKeys = []string{
	"from", "to", "district", "village", "agent", "grower", "variety", "standard", "grade", "deciding", "channel", "kind", "state", "only",
}

// kinds are the words for which check of a lot is meant.
var kinds = []struct {
	key  string
	kind ledger.Kind
	said string
}{
	{"", ledger.AnyKind, "first checks and re-checks"},
	{"first", ledger.FirstCheck, "first checks"},
	{"re-check", ledger.ReCheck, "re-checks"},
	{"last", ledger.LastCheck, "each lot once, as last checked"},
}

// states are the words for what became of a check.
var states = []struct {
	key   string
	state ledger.State
	said  string
}{
	{"", ledger.InForce, "filed"},
	{"corrected", ledger.WasCorrected, "corrected"},
	{"withdrawn", ledger.WasWithdrawn, "withdrawn"},
	{"any", ledger.AnyState, "in any state"},
}

// chosen is a filter as somebody asked for it, and as the ledger takes it.
type chosen struct {
	ledger.Filter
	query url.Values // only known criteria that are set
}

// nowhere is a district that no check has: the filter of somebody who asks for
// a district that is not theirs.
const nowhere = "\x00nowhere"

// readFilter reads the criteria of an address. A visitor of some districts gets
// those only, whatever is asked for. The error is an *inputError.
func readFilter(q url.Values, v *visitor) (chosen, error) {
	c := chosen{query: url.Values{}}
	for _, key := range filterKeys {
		if value := strings.TrimSpace(q.Get(key)); value != "" {
			if len(value) > 100 {
				return c, &inputError{"A criterion is longer than any name or code."}
			}
			c.query.Set(key, value)
		}
	}
	var err error
	if c.From, err = readDay(c.query.Get("from")); err != nil {
		return c, err
	}
	if c.To, err = readDay(c.query.Get("to")); err != nil {
		return c, err
	}
	if district := c.query.Get("district"); district != "" {
		c.Districts = []string{district}
	}
	c.Village, c.Variety, c.Channel = c.query.Get("village"), c.query.Get("variety"), c.query.Get("channel")
	c.Agent, c.Grower = session.PersonID(c.query.Get("agent")), session.PersonID(c.query.Get("grower"))
	c.Standard, c.Edition, _ = strings.Cut(c.query.Get("standard"), "|")
	c.Grade, c.Deciding = grading.GradeLabel(c.query.Get("grade")), grading.ParameterID(c.query.Get("deciding"))
	for _, k := range kinds {
		if k.key == c.query.Get("kind") {
			c.Kind = k.kind
		}
	}
	for _, s := range states {
		if s.key == c.query.Get("state") {
			c.State = s.state
		}
	}
	c.OnlyBorderline, c.OnlyLacking = c.query.Get("only") == "borderline", c.query.Get("only") == "lacking"
	c.bound(v)
	return c, nil
}

// bound keeps a visitor to their own districts.
func (c *chosen) bound(v *visitor) {
	own := v.account.Districts
	switch {
	case len(own) == 0:
	case len(c.Districts) == 0:
		c.Districts = slices.Clone(own)
	case !slices.Contains(own, c.Districts[0]):
		c.Districts = []string{nowhere}
	}
}

func readDay(s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return t, &inputError{fmt.Sprintf("The day %q cannot be read: write it as year-month-day, such as 2026-11-25.", s)}
	}
	return t, nil
}

// with is the address of a page with the filter, and one criterion changed.
func (c *chosen) with(path, key, value string) string {
	q := url.Values{}
	for k, v := range c.query {
		q[k] = v
	}
	if key != "" {
		q.Set(key, value)
	}
	if len(q) == 0 {
		return path
	}
	return path + "?" + q.Encode()
}

// said is the filter in words, for a page of the visitor.
func (c *chosen) said(d *Desk, v *visitor) string {
	return c.words(d, v, func(id session.PersonID) string { return d.nameOf(v, id) })
}

// coded is the filter in words that name nobody, for the audit log and for
// what is taken away.
func (c *chosen) coded(d *Desk, v *visitor) string {
	return c.words(d, v, func(id session.PersonID) string { return string(id) })
}

func (c *chosen) words(d *Desk, v *visitor, name func(session.PersonID) string) string {
	var parts []string
	for _, key := range filterKeys {
		value := c.query.Get(key)
		if value == "" {
			continue
		}
		switch key {
		case "from", "to":
			value = dayText(value)
		case "agent", "grower":
			value = name(session.PersonID(value))
		case "deciding":
			parts = append(parts, "held down by "+d.parameterLabel(c.Standard, c.Deciding))
			continue
		case "kind":
			value = saidOf(kinds[int(c.Kind)].said, "")
			parts = append(parts, value)
			continue
		case "state":
			parts = append(parts, states[int(c.State)].said)
			continue
		case "only":
			parts = append(parts, map[string]string{"borderline": "borderline only", "lacking": "something not measured"}[value])
			continue
		case "standard":
			value = c.Standard
		}
		parts = append(parts, key+" "+value)
	}
	if len(v.account.Districts) > 0 && c.query.Get("district") == "" {
		parts = append(parts, "districts "+list(v.account.Districts))
	}
	if len(parts) == 0 {
		return "All checks"
	}
	return "Checks: " + strings.Join(parts, ", ")
}

func saidOf(s, or string) string {
	if s == "" {
		return or
	}
	return s
}

func dayText(iso string) string {
	t, err := time.Parse(time.DateOnly, iso)
	if err != nil {
		return iso
	}
	return t.Format("2 Jan 2006")
}

// filterForm is the form above every page of the ledger.
type filterForm struct {
	Action, Said, From, To string
	Here                   string // the page as it is chosen
	Open                   bool
	Choices                []choice
}

// choice is one criterion: a list to choose from, or a field to type in.
type choice struct {
	Name, Label, Value string
	Options            []option
}

type option struct {
	Value, Label string
	Chosen       bool
}

// mostOptions is the longest list to choose from; longer ones are typed, or a
// page would grow with the programme.
const mostOptions = 80

// form makes the filter's form from all that the visitor may choose.
func (d *Desk) form(action string, c *chosen, v *visitor) filterForm {
	var everything chosen
	everything.bound(v)
	everything.State = ledger.AnyState
	all := d.summary(everything.Filter)
	f := filterForm{Action: action, Here: c.with(action, "", ""), Said: c.said(d, v), From: c.query.Get("from"), To: c.query.Get("to")}
	add := func(name, label, any string, options []option) {
		value := c.query.Get(name)
		ch := choice{Name: name, Label: label, Value: value}
		if len(options) <= mostOptions {
			ch.Options = append(ch.Options, option{"", any, value == ""})
			for _, o := range options {
				o.Chosen = o.Value == value
				ch.Options = append(ch.Options, o)
			}
		}
		f.Choices = append(f.Choices, ch)
	}
	add("district", "District", "Any", keys(all.Districts, nil))
	add("village", "Village", "Any", keys(all.Villages, nil))
	add("agent", "Agent", "Any", keys(all.Agents, func(id string) string { return d.nameOf(v, session.PersonID(id)) }))
	add("variety", "Variety", "Any", keys(all.Varieties, nil))
	add("grade", "Grade", "Any", gradeOptions(all.Grades))
	var deciding []option
	for _, t := range all.Deciding {
		if !slices.ContainsFunc(deciding, func(o option) bool { return o.Value == string(t.Key) }) {
			deciding = append(deciding, option{Value: string(t.Key), Label: d.parameterLabel(t.Standard, t.Key)})
		}
	}
	add("deciding", "Held down by", "Anything", deciding)
	add("standard", "Standard", "Any", standardOptions(all.Grades))
	add("channel", "Channel", "Any", keys(all.Channels, nil))
	var of []option
	for _, k := range kinds[1:] {
		of = append(of, option{Value: k.key, Label: k.said})
	}
	add("kind", "Which check of a lot", kinds[0].said, of)
	var was []option
	for _, s := range states[1:] {
		was = append(was, option{Value: s.key, Label: s.said})
	}
	add("state", "What became of it", states[0].said, was)
	add("only", "Only", "Everything", []option{{"borderline", "borderline", false}, {"lacking", "something not measured", false}})
	if grower := c.query.Get("grower"); grower != "" {
		f.Choices = append(f.Choices, choice{Name: "grower", Label: "Grower", Value: grower})
	}
	return f
}

func keys(groups []ledger.Group, label func(string) string) []option {
	var list []option
	for _, g := range groups {
		if g.Key == "" || slices.ContainsFunc(list, func(o option) bool { return o.Value == g.Key }) {
			continue
		}
		o := option{Value: g.Key, Label: g.Key}
		if label != nil {
			o.Label = label(g.Key)
		}
		list = append(list, o)
	}
	slices.SortFunc(list, func(a, b option) int { return strings.Compare(a.Label, b.Label) })
	return list
}

func gradeOptions(grades []ledger.GradeTally) (list []option) {
	for _, g := range grades {
		if !slices.ContainsFunc(list, func(o option) bool { return o.Value == string(g.Label) }) {
			list = append(list, option{Value: string(g.Label), Label: string(g.Label)})
		}
	}
	return list
}

func standardOptions(grades []ledger.GradeTally) (list []option) {
	for _, g := range grades {
		value := g.Standard + "|" + g.Edition
		if !slices.ContainsFunc(list, func(o option) bool { return o.Value == value }) {
			list = append(list, option{Value: value, Label: g.Standard + ", " + g.Edition})
		}
	}
	return list
}

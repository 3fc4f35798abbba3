package desk

import (
	"context"
	"slices"
	"strconv"
	"strings"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/session"
	"threshline/session/ledger"
)

// filterForm is the form above every page of the ledger.
type filterForm struct {
	Action, Said, From, To string
	Here                   string // the page as it is chosen
	Open                   bool
	Choices                []choice
}

// named reports whether the form shows an agent's name.
func (f *filterForm) named() bool {
	return slices.ContainsFunc(f.Choices, func(c choice) bool {
		return c.Name == "agent" && slices.ContainsFunc(c.Options, func(o paper.Option) bool { return o.Value != "" && o.Label != o.Value })
	})
}

// choice is one criterion: a list to choose from, or a field to type in.
type choice struct {
	Name, Label, Value string
	Options            []paper.Option
}

// mostOptions is the longest list to choose from; longer ones are typed, or a
// page would grow with the programme.
const mostOptions = 80

// form makes the filter's form from all that the visitor may choose.
func (d *chooser) form(action string, c *chosen, v *access.Visitor) filterForm {
	var everything chosen
	everything.bound(v)
	everything.State, everything.Procedure, everything.Way = ledger.AnyState, ledger.EveryProcedure, ledger.EitherWay
	all := d.figures.Summary(everything.Filter)
	f := filterForm{Action: action, Here: c.with(action, "", ""), Said: c.said(d.terms, v), From: c.query.Get("from"), To: c.query.Get("to")}
	add := func(name, label, any string, options []paper.Option) {
		value := c.query.Get(name)
		ch := choice{Name: name, Label: label, Value: value}
		if len(options) <= mostOptions {
			ch.Options = append(ch.Options, paper.Option{Value: "", Label: any, Chosen: value == ""})
			for _, o := range options {
				o.Chosen = o.Value == value
				ch.Options = append(ch.Options, o)
			}
		}
		f.Choices = append(f.Choices, ch)
	}
	same := func(key string) string { return key }
	add("district", "District", "Any", keys(all.Districts, same))
	add("village", "Village", "Any", keys(all.Villages, same))
	add("agent", "Agent", "Any", keys(all.Agents, func(id string) string { return d.nameOf(v, session.PersonID(id)) }))
	add("variety", "Variety", "Any", keys(all.Varieties, same))
	var grades, deciding, standards, procedures []paper.Option
	for _, g := range all.Grades {
		grades = offer(grades, string(g.Label), string(g.Label))
		standards = offer(standards, g.Standard+"|"+g.Edition, g.Standard+", "+g.Edition)
		procedures = offer(procedures, strconv.Itoa(g.Procedure), "edition "+strconv.Itoa(g.Procedure))
	}
	slices.SortFunc(procedures, func(a, b paper.Option) int { return strings.Compare(b.Value, a.Value) })
	add("grade", "Grade", "Any", grades)
	for _, t := range all.Deciding {
		deciding = offer(deciding, string(t.Key), d.parameterLabel(t.Standard, t.Key))
	}
	add("deciding", "Held down by", "Anything", deciding)
	add("standard", "Standard", "Any", standards)
	if len(procedures) > 1 || c.Procedure != 0 {
		add("procedure", "Procedure", "all in lists, the newest in figures", procedures)
	}
	add("channel", "Channel", "Any", keys(all.Channels, same))
	add("kind", "Which check of a lot", kinds[0].said, options(kinds))
	add("state", "What became of it", states[0].said, options(states))
	add("only", "Only", "Everything", []paper.Option{{Value: "borderline", Label: "borderline"}, {Value: "lacking", Label: "something not measured"}, {Value: onlyByHand, Label: "by hand, in lists and exports"}})
	if grower := c.query.Get("grower"); grower != "" {
		f.Choices = append(f.Choices, choice{Name: "grower", Label: "Grower", Value: grower})
	}
	return f
}

// offer adds something to choose, once.
func offer(list []paper.Option, value, label string) []paper.Option {
	if slices.ContainsFunc(list, func(o paper.Option) bool { return o.Value == value }) {
		return list
	}
	return append(list, paper.Option{Value: value, Label: label})
}

func keys(groups []ledger.Group, label func(string) string) (list []paper.Option) {
	for _, g := range groups {
		if g.Key != "" {
			list = offer(list, g.Key, label(g.Key))
		}
	}
	slices.SortFunc(list, func(a, b paper.Option) int { return strings.Compare(a.Label, b.Label) })
	return list
}

// mostListed bounds how many sign-ins are remembered in listed.
const mostListed = 1000

// seenInFilter notes in the audit log whose names the filter of a page shows: a
// person chosen in it each time; the agents in its list once for each sign-in,
// or every page would write them again.
func (d *chooser) seenInFilter(ctx context.Context, v *access.Visitor, c *chosen, f *filterForm) error {
	for _, id := range []session.PersonID{c.Agent, c.Grower} {
		if id != "" && d.nameOf(v, id) != string(id) {
			if err := d.seen(ctx, v, "the name of somebody in a filter", string(id)); err != nil {
				return err
			}
		}
	}
	if !f.named() {
		return nil
	}
	d.listing.Lock()
	known := d.listed[v.SignIn]
	d.listing.Unlock()
	if known {
		return nil
	}
	if err := d.seen(ctx, v, "the names of agents to choose from", ""); err != nil {
		return err
	}
	d.listing.Lock()
	defer d.listing.Unlock()
	if len(d.listed) >= mostListed {
		clear(d.listed)
	}
	d.listed[v.SignIn] = true
	return nil
}

// seen writes down that a visitor read personal data, before it is shown.
func (d *front) seen(ctx context.Context, v *access.Visitor, what, subject string) error {
	return d.guard.Log(ctx, v, "read "+what, subject)
}

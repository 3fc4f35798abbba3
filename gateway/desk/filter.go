package desk

import (
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
)

// filterKeys are the criteria in an address, in the order in which a filter is
// said in words.
var filterKeys = []string{
	"from", "to", "district", "village", "agent", "grower", "variety", "standard", "procedure", "grade", "deciding", "channel", "kind", "state", "only",
}

// word is one of a few choices: in an address, as the ledger takes it, and in words.
type word[T any] struct {
	key   string
	means T
	said  string
}

// wordAt is where the word stands in a list; -1 where it does not.
func wordAt[T any](list []word[T], key string) int {
	return slices.IndexFunc(list, func(w word[T]) bool { return w.key == key })
}

// options are the words of a list after the first, which is the usual one.
func options[T any](list []word[T]) (out []paper.Option) {
	for _, w := range list[1:] {
		out = append(out, paper.Option{Value: w.key, Label: w.said})
	}
	return out
}

// kinds are the words for which check of a lot is meant.
var kinds = []word[ledger.Kind]{
	{"", ledger.AnyKind, "first checks and re-checks"},
	{"first", ledger.FirstCheck, "first checks"},
	{"re-check", ledger.ReCheck, "re-checks"},
	{"last", ledger.LastCheck, "the newest check of each lot"},
}

// states are the words for what became of a check.
var states = []word[ledger.State]{
	{"", ledger.InForce, "filed"},
	{"corrected", ledger.WasCorrected, "corrected"},
	{"withdrawn", ledger.WasWithdrawn, "withdrawn"},
	{"any", ledger.AnyState, "in any state"},
}

// chosen is a filter as somebody asked for it, and as the ledger takes it.
type chosen struct {
	ledger.Filter
	query url.Values // only known criteria that are set
	// measured is the edition of the procedure that figures were narrowed to; "" none.
	measured string
}

// nowhere is a district that no check has. It is the filter for a visitor who
// asks for a district that is not theirs.
const nowhere = "\x00nowhere"

// readFilter reads the criteria of an address. A visitor of some districts gets
// those only, whatever is asked for. The error is a *paper.InputError.
func readFilter(q url.Values, v *access.Visitor) (chosen, error) {
	c := chosen{query: url.Values{}}
	for _, key := range filterKeys {
		if value := strings.TrimSpace(q.Get(key)); value != "" {
			if len(value) > 100 {
				return c, paper.Wrong("A criterion is longer than any name or code.")
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
	if edition := c.query.Get("procedure"); edition != "" {
		if c.Procedure, err = strconv.Atoi(edition); err != nil || c.Procedure < 1 {
			return c, paper.Wrong("There is no such edition of the procedure.")
		}
	}
	c.Grade, c.Deciding = grading.GradeLabel(c.query.Get("grade")), grading.ParameterID(c.query.Get("deciding"))
	if err := c.readChoices(); err != nil {
		return c, err
	}
	if !c.From.IsZero() && !c.To.IsZero() && c.To.Before(c.From) {
		return c, paper.Wrong("The last day lies before the first.")
	}
	c.bound(v)
	return c, nil
}

// readChoices reads the criteria that are one of a few words. Any other word is
// refused: if it were ignored, the page or export would show more than was
// asked for.
func (c *chosen) readChoices() error {
	k, s, only := wordAt(kinds, c.query.Get("kind")), wordAt(states, c.query.Get("state")), c.query.Get("only")
	switch {
	case k < 0:
		return paper.Wrong("Which check of a lot is first, re-check or last.")
	case s < 0:
		return paper.Wrong("What became of a check is corrected, withdrawn or any.")
	case only != "" && only != "borderline" && only != "lacking" && only != onlyByHand:
		return paper.Wrong("What is shown only is borderline, lacking or by_hand.")
	}
	c.Kind, c.State = kinds[k].means, states[s].means
	c.OnlyBorderline, c.OnlyLacking = only == "borderline", only == "lacking"
	return nil
}

// onlyByHand is the criterion of lists that show checks by hand alone.
const onlyByHand = "by_hand"

// take sets which checks a page is of, by hand or with the kit. Figures are of no
// check by hand, whatever was asked for.
func (c *chosen) take(way ledger.Way) {
	byHand := c.query.Get("only") == onlyByHand
	switch c.Way = way; {
	case byHand && way == ledger.EitherWay:
		c.Way = ledger.ByHand
	case byHand:
		c.query.Del("only")
	}
}

// bound limits a visitor to their own districts.
func (c *chosen) bound(v *access.Visitor) {
	own := v.Account.Districts
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
		return t, paper.Wrong(fmt.Sprintf("The day %q cannot be read: write it as year-month-day, such as 2026-11-25.", s))
	}
	return t, nil
}

// with is the address of a page with the filter, and one criterion changed.
func (c *chosen) with(path, key, value string) string {
	q := url.Values{}
	maps.Copy(q, c.query)
	if key != "" {
		q.Set(key, value)
	}
	if len(q) == 0 {
		return path
	}
	return path + "?" + q.Encode()
}

// lots is the address of the list of lots with one criterion changed. Each lot
// stands there once, as the figures count it, unless the filter asks for other
// checks.
func (c *chosen) lots(key, value string) string {
	last := c.counted()
	if c.Kind == ledger.AnyKind {
		last.query.Set("kind", "last")
	}
	return last.with("/desk/lots", key, value)
}

// counted is the filter of the checks that figures are of.
func (c *chosen) counted() chosen {
	of := chosen{query: maps.Clone(c.query)}
	if c.measured != "" {
		of.query.Set("procedure", c.measured)
	}
	return of
}

// said is the filter in words, for a page of the visitor.
func (c *chosen) said(d *terms, v *access.Visitor) string {
	return c.words(d, v, func(id session.PersonID) string { return d.nameOf(v, id) })
}

// coded is the filter in words that name nobody, for the audit log and for
// what is exported.
func (c *chosen) coded(d *terms, v *access.Visitor) string {
	return c.words(d, v, func(id session.PersonID) string { return string(id) })
}

func (c *chosen) words(d *terms, v *access.Visitor, name func(session.PersonID) string) string {
	var parts []string
	for _, key := range filterKeys {
		value := c.query.Get(key)
		if value == "" {
			continue
		}
		switch key {
		case "from", "to":
			value = paper.Day(value)
		case "agent", "grower":
			value = name(session.PersonID(value))
		case "deciding":
			parts = append(parts, "held down by "+d.parameterLabel(c.Standard, c.Deciding))
			continue
		case "kind":
			value = paper.Or(kinds[int(c.Kind)].said, "")
			parts = append(parts, value)
			continue
		case "state":
			parts = append(parts, states[int(c.State)].said)
			continue
		case "only":
			parts = append(parts, map[string]string{"borderline": "borderline only", "lacking": "something not measured", onlyByHand: "by hand only"}[value])
			continue
		case "standard":
			value = c.Standard
			if c.Edition != "" {
				value += ", " + c.Edition
			}
		}
		parts = append(parts, key+" "+value)
	}
	if len(v.Account.Districts) > 0 && c.query.Get("district") == "" {
		parts = append(parts, "districts "+paper.List(v.Account.Districts))
	}
	if len(parts) == 0 {
		return "All checks"
	}
	return "Checks: " + strings.Join(parts, ", ")
}

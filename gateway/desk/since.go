package desk

import (
	"errors"
	"slices"

	"threshline/advice"
	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// sinceView is what became of a lot between the check before and this one.
type sinceView struct {
	Slip   session.Slip
	Said   []string // sentences
	Doubts []string
	Table  paper.Table
}

// finder gives what finds a check in a view, and keeps the first fault of the
// store.
func finder(v session.View, fault *error) func(session.Slip) (session.Check, bool) {
	return func(slip session.Slip) (session.Check, bool) {
		c, err := v.Check(slip)
		if err != nil && !errors.Is(err, session.ErrNotFound) && *fault == nil {
			*fault = err
		}
		return c, err == nil
	}
}

// before is the check that c re-checks, or what replaced it since, and the kit of
// its reporter; false when there is none that still counts.
func before(v session.View, c *session.Check) (b session.Check, kit session.Kit, ok bool, err error) {
	b, ok = programme.Latest(c.Recheck, finder(v, &err))
	if !ok || err != nil {
		return b, kit, false, err
	}
	reporter, err := known(v, b.Reporter)
	return b, reporter.Kit, b.State == session.Filed, err
}

// unsound says why the grade of a filed, pooled check is no longer valid; ""
// when it is.
func unsound(v session.View, c *session.Check) (why string, err error) {
	changed, gone := programme.Unsound(*c, finder(v, &err))
	if !gone || c.State != session.Filed {
		return "", err
	}
	return "It counts the sample of " + string(changed) + ", which was withdrawn or corrected since: its grade no longer holds. Have the lot checked again, or this check corrected.", err
}

// since compares a re-check with the check before; nil when there is nothing to
// compare.
func (d *lotDesk) since(l *lotRecord, s *grading.Standard) *sinceView {
	if !l.hasBefore || l.unsound != "" || l.check.State != session.Filed || l.before.Readings.ByHand() || l.check.Readings.ByHand() {
		return nil
	}
	programme := *d.programme
	if s != nil {
		programme.Standard = s
	}
	c, currency := &l.check, d.programme.Currency
	found := programme.Compare(&l.before, c, l.kitBefore, l.kit)
	v := &sinceView{Slip: l.before.Slip}
	tell := func(text string) { v.Said = append(v.Said, text) }
	switch {
	case found.OtherTable:
		tell("The two were graded by different tables, " + l.before.StandardID + " (" + l.before.Edition + ") and " + c.StandardID + " (" + c.Edition + "), so they are not compared.")
		return v
	case found.OtherProcedure:
		tell("The two were measured by different editions of the procedure, so they are not compared.")
		return v
	case c.Pooled():
		tell("Nothing was to be done to the lot in between: this is another sample of it, and the grade is that of both samples together.")
	case found.Resampled:
		tell("Nothing was to be done to the lot in between, but this sample stands alone: " + paper.Say("alone", found.Alone) + ".")
	}
	tell(gradeMove(&l.before, c, found.Change.Steps))
	ch := &found.Change
	if ch.HasMoney {
		tell(moneyMove(ch, currency))
	} else if !found.Resampled {
		tell("What that is worth cannot be said: a price or the lot’s weight is not known.")
	}
	for _, doubt := range ch.Doubts {
		v.Doubts = append(v.Doubts, paper.Say("same_lot", doubt))
	}
	v.Table = moves(&programme, &l.before, c, &found)
	return v
}

func gradeMove(was, is *session.Check, steps int) string {
	switch {
	case steps > 0:
		return "It rose from " + gradeOf(was) + " to " + gradeOf(is) + "."
	case steps < 0:
		return "It fell from " + gradeOf(was) + " to " + gradeOf(is) + "."
	}
	return "Its grade is " + gradeOf(is) + " as before."
}

func moneyMove(ch *advice.Change, currency string) string {
	amount := ch.Earned.Float()
	text := "At the programme’s prices it fetches about as much as before."
	switch {
	case amount >= 1:
		text = "At the programme’s prices it fetches about " + paper.Money(amount) + " " + currency + " more"
	case amount <= -1:
		text = "At the programme’s prices it fetches about " + paper.Money(-amount) + " " + currency + " less"
	default:
		return text
	}
	if ch.Reckoned {
		return text + "; its weight was not given again, so the water and dirt that it lost are subtracted. The work is not included."
	}
	return text + ". The work is not included."
}

// moves is the table of values that were measured both times and have changed.
func moves(p *programme.Programme, was, is *session.Check, found *programme.Since) paper.Table {
	t := paper.Table{Caption: "Before and now. “More than chance”: the two samples’ 95% intervals do not overlap.",
		Head: paper.Heads("Parameter", "#Before", "#Now", "Unit", "More than chance")}
	add := func(id grading.ParameterID, a, b grading.Decimal, clear string) {
		label, places, u := string(id), 2, ""
		if def := p.Standard.Parameter(id); def != nil {
			label, places, u = def.Label, def.Decimals, paper.Unit(def.Unit, def.Basis)
		}
		t.Add(label, a.AtLeast(places), b.AtLeast(places), u, clear)
	}
	if found.Judged {
		for _, m := range found.Change.Moved {
			clear := "no"
			if m.Clear {
				clear = "yes"
			}
			add(m.Parameter, m.Before, m.After, clear)
		}
	} else {
		for _, def := range p.Standard.Parameters {
			a, one := was.Values[def.ID]
			b, two := is.Values[def.ID]
			if one && two && a != b {
				add(def.ID, a, b, "not known")
			}
		}
	}
	if ch := &found.Change; ch.HasKG && ch.KG != 0 {
		how := ""
		if ch.Reckoned {
			how = "reckoned"
		}
		t.Add("Weight of the lot", paper.Number(was.Lot.KG.Fixed(1)), paper.Number((was.Lot.KG - ch.KG).Fixed(1)), "kg", how)
	}
	return t
}

// later are the slips of the re-checks of a check among the grower's checks, as far
// as the visitor may see them.
func later(v *access.Visitor, past []session.Check, slip session.Slip) (slips []session.Slip) {
	for i := range past {
		if past[i].Recheck == slip && past[i].State == session.Filed && v.Sees(past[i].Lot.District) {
			slips = append(slips, past[i].Slip)
		}
	}
	slices.Reverse(slips) // oldest first
	return slips
}

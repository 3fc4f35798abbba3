package desk

import (
	"context"
	"math"
	"net/http"
	"strconv"

	"github.com/gorilla/mux"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/gateway/desk/sheet"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// lotPage is one check with everything that led to its grade.
type lotPage struct {
	Check            session.Check
	Row              lotRow
	GrowerSays       string
	Confidence       string
	Procedure        string // the edition of the work by hand
	Title, Edition   string
	Status           string
	Values           paper.Table
	Readings, Sample paper.Table
	Settle           string
	Remedy           *remedyView
	Considered       paper.Table
	Adjustments      paper.Table
	Since            *sinceView
	Later            []session.Slip // its re-checks
	History          paper.Table
	Unjudged         string
	Try              *tryView
	Unsound          string
	Superseded, Next string
	Uneatable        *uneatable // nil: people may eat it
	Cleared          []string   // what was taken off it
}

// remedyView is the remedy advised, with its cautions uncut.
type remedyView struct {
	Name, When, Because, Becomes, Source string
	Cautions                             []string
	Facts                                paper.Facts
}

func (d *lotDesk) lot(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	l, err := d.readLot(r.Context(), session.Slip(mux.Vars(r)["slip"]))
	if err != nil {
		return err
	}
	c, past := l.check, l.past
	if !v.Sees(c.Lot.District) {
		return session.ErrNotFound // not even that there is such a lot
	}
	page := lotPage{Procedure: procedureFact(c.Procedure), Check: c, Row: d.lotRow(v, &c), Readings: sheet.Readings(&c), Later: later(v, past, c.Slip)}
	if c.Pooled() {
		page.Sample = sheet.Readings(&session.Check{Readings: c.Sample, Paces: c.Paces})
		page.Sample.Caption = "What the last sample alone gave; the readings above are those of all samples together"
	}
	page.History = d.history(v, past, c.Slip)
	s := d.standard(c.StandardID, c.Edition)
	if s == nil {
		page.Unjudged = "The table of standard " + c.StandardID + ", edition " + c.Edition + ", is not known any more, so this check is shown as it was filed."
		page.Title, page.Edition = c.StandardID, c.Edition
	} else {
		page.Title, page.Edition, page.Status = s.Title, s.Edition, paper.Say("status", s.Status)
		if c.Ungraded() {
			d.judgeHand(&page, s, past)
		} else {
			d.judge(&page, s, l.kit, past)
		}
	}
	page.Unsound = l.unsound
	page.Uneatable, page.Cleared = d.standing(v, &c), d.cleared(&c)
	if v.Sees(l.before.Lot.District) { // a lot may have been checked elsewhere before
		page.Since = d.since(&l, s)
	}
	if v.Knows(c.Lot.District) {
		if err := d.seen(r.Context(), v, "a lot with its grower", string(c.Slip)); err != nil {
			return err
		}
	}
	return d.show(w, r, v, "lot", "Lot "+string(c.Slip), page)
}

// procedureFact is the edition of the work by hand that a check was made by.
func procedureFact(n int) string {
	switch {
	case n < 1:
		return "edition 1, before checks noted it"
	case n < session.Procedure:
		return "edition " + strconv.Itoa(n) + "; checks made now are of edition " + strconv.Itoa(session.Procedure)
	}
	return "edition " + strconv.Itoa(n)
}

// standard finds the table that a check was graded by.
func (d *terms) standard(id, edition string) *grading.Standard {
	for _, s := range append([]*grading.Standard{d.programme.Standard}, d.tables...) {
		if s.ID == id && s.Edition == edition {
			return s
		}
	}
	return nil
}

// judge grades the check again by its own table, for the results that are not
// stored with it.
func (d *lotDesk) judge(page *lotPage, s *grading.Standard, kit session.Kit, past []session.Check) {
	c := &page.Check
	scheme := *d.programme
	scheme.Standard = s
	judged, err := scheme.Judge(c.Lot, c.Readings, kit, c.At, programme.Past(past, c.At, c.Recheck))
	if err != nil {
		page.Unjudged = "These readings are not taken any more: " + err.Error() + ". The check is shown as it was filed."
		return
	}
	res := &judged.Result
	if c.Complete {
		page.Confidence = paper.Chance(c.Confidence) + " that the lot itself has this grade"
		if math.Abs(c.Confidence-res.Confidence) < sameChance {
			page.Confidence += ", " + paper.Chance(res.Better) + " that it has a better one"
			if res.Likelier != "" {
				page.Confidence += "; likelier than the stated grade is " + string(res.Likelier) + ", " + paper.Chance(res.LikelierChance)
			}
		} else {
			page.Confidence += ", as worked out when it was filed; the chances below are today’s"
		}
	}
	page.Values = sheet.Values(s, res)
	if res.Settle != nil {
		page.Settle = sheet.Settle(s, res.Settle)
	}
	page.Remedy = d.remedy(&judged.Advice.Best, c, res.Grade, s)
	page.Considered = considered(&judged.Advice, res.Grade, d.programme.Currency)
	page.Adjustments = adjustments(&scheme, c, res)
}

// sameChance is how far a filed chance may lie from today's and still count as
// the same. Chances move with what is known of the season's lots and of the
// tools.
const sameChance = 0.005

// history lists the grower's checks, this one among them.
func (d *terms) history(v *access.Visitor, checks []session.Check, this session.Slip) paper.Table {
	t := paper.Table{Caption: "Checks, newest first", Head: paper.Heads("Slip", "Filed", "Grade", "Held down by", "What it is")}
	if len(checks) == perPage {
		t.Caption += ": the last " + paper.Count(perPage)
	}
	for i := range checks {
		c := &checks[i]
		if !v.Sees(c.Lot.District) {
			continue
		}
		slip, link := string(c.Slip), "/desk/lots/"+string(c.Slip)
		if c.Slip == this {
			slip, link = slip+" (this)", ""
		}
		t.Rows = append(t.Rows, paper.Linked(link, slip, c.At.In(d.programme.Zone).Format(paper.DateTime), gradeOf(c), d.held(c), standing(c)))
	}
	return t
}

// standing says how a check relates to others.
func standing(c *session.Check) string {
	text := "first check"
	if c.Readings.ByHand() {
		text = "check by hand"
	}
	switch {
	case c.Pooled():
		text = "another sample, taken together with " + string(c.Recheck)
	case c.AfterHand && !c.Readings.ByHand():
		text = "first check with tools, after check by hand " + string(c.Recheck)
	case c.Recheck != "":
		text = "re-check of " + string(c.Recheck)
	}
	switch c.State {
	case session.Corrected:
		text += ", corrected by " + string(c.ReplacedBy)
	case session.Withdrawn:
		text += ", withdrawn"
	}
	return text
}

// lotRecord is what the page of a lot is made of: a check, what else was checked
// of its grower, newest first, and the check before where it is a re-check; with
// what their reporters measure with.
type lotRecord struct {
	check, before  session.Check
	past           []session.Check
	kit, kitBefore session.Kit
	hasBefore      bool
	unsound        string // why a pooled check's grade holds no more; "" while it does
}

func (d *lotDesk) readLot(ctx context.Context, slip session.Slip) (l lotRecord, err error) {
	err = d.records.Read(ctx, func(view session.View) (err error) {
		l = lotRecord{}
		if l.check, err = view.Check(slip); err != nil {
			return err
		}
		if l.check.Lot.Grower != "" {
			if l.past, err = view.ChecksOf(l.check.Lot.Grower, perPage); err != nil {
				return err
			}
		}
		reporter, err := known(view, l.check.Reporter)
		if err != nil {
			return err
		}
		l.kit = reporter.Kit
		if l.unsound, err = unsound(view, &l.check); err != nil {
			return err
		}
		l.before, l.kitBefore, l.hasBefore, err = before(view, &l.check)
		return err
	})
	return l, err
}

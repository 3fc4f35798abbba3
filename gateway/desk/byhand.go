package desk

import (
	"context"
	"net/http"

	"threshline/advice"
	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/gateway/desk/sheet"
	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
	"threshline/session/ledger/hands"
	"threshline/session/programme"
)

// mostPairs is how many pairs of checks by hand and with the kit are held against
// each other, the newest: what hands said is worked out again for each.
const mostPairs = 200

// handDesk shows how well hands do.
type handDesk struct {
	*chooser
	records Records
}

// handsPage is how far checks by hand reached, and how well hands did.
type handsPage struct {
	ledgerPage
	Reach, Left      string
	Districts, Weeks paper.Table
	Pairs            int
	Wait             bool
	Values, Said     paper.Table
}

func (d *handDesk) hands(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	p, c, err := d.overLists(w, r, v)
	if err != nil {
		return err
	}
	view := d.ledger.View()
	reach := view.Reach(c.Filter)
	page := handsPage{
		ledgerPage: p, Reach: reached(&reach.Reached),
		Districts: sheet.Reached("district", reach.Districts, func(key string) string { return paper.Or(key, "not said") }),
		Weeks:     sheet.Reached("week", reach.Weeks, paper.Day),
	}
	pairs, of := view.HandPairs(c.Filter, mostPairs)
	if len(pairs) > 0 {
		held := d.figures.Held(view, c.Filter, d.figures.Enough(), func(ledger.Filter) hands.Held { return d.hold(pairs) })
		if page.Wait = !held.Ready; page.Wait {
			comeBack(w)
		} else {
			page.Pairs, page.Left = held.Result.Compared, leftOut(&held.Result, of)
			page.Values, page.Said = sheet.Held(d.programme.Standard, &held.Result), sheet.Said(&held.Result)
		}
	}
	return d.show(w, r, v, "hands", "Checks by hand", page)
}

// hold compares the checks of each pair. If the store fails here, the page is never
// ready: the cache logs the panic.
func (d *handDesk) hold(pairs []hands.Pair) hands.Held {
	var slips []session.Slip
	for _, p := range pairs {
		slips = append(slips, p.Hand, p.Kit)
	}
	checks, err := checksOf(context.Background(), d.records, slips)
	if err != nil {
		panic(err)
	}
	var held []programme.HandPair
	for i := 0; i < len(checks); i += 2 {
		held = append(held, d.programme.HoldHand(&checks[i], &checks[i+1]))
	}
	return hands.Hold(held)
}

// reached says how far checks by hand reached.
func reached(r *hands.Reached) string {
	if r.Checks == 0 {
		return ""
	}
	return paper.Plural(r.Checks, "check") + " by hand, of " + paper.Plural(r.Lots, "lot") + " of " + paper.Plural(r.Growers, "grower")
}

// leftOut says which pairs were not compared.
func leftOut(h *hands.Held, of int) (said string) {
	if h.Late > 0 {
		said += " Left out: " + paper.Plural(h.Late, "pair") + " over three days apart, since the lot may have been dried or cleaned meanwhile."
	}
	if h.OtherTable > 0 {
		said += " Left out: " + paper.Plural(h.OtherTable, "pair") + " by another table or procedure."
	}
	if of > mostPairs {
		said += " Of " + paper.Count(of) + " pairs, the newest " + paper.Count(mostPairs) + " are compared."
	}
	return said
}

// tryView is a remedy of which hands are not sure, with the chance that a full check
// finds it worth doing.
type tryView struct{ Name, Useful string }

// judgeHand says what a check by hand lets its lot be.
func (d *lotDesk) judgeHand(page *lotPage, s *grading.Standard, past []session.Check) {
	c, scheme := &page.Check, *d.programme
	scheme.Standard = s
	judged, err := scheme.JudgeHand(c.Lot, c.Readings, c.At, programme.Past(past, c.At, c.Recheck))
	if err != nil {
		page.Unjudged = "These counts are not taken any more: " + err.Error() + ". The check is shown as it was filed."
		return
	}
	if !judged.Stops() {
		page.Row.Grade, page.Values = sheet.Likely(s, &judged), sheet.Shares(s, &judged)
	}
	best := judged.Advice.Best
	if !judged.Stops() { // the values are those of one lot of many that it may be
		best.Because, best.Becomes = advice.Because{}, ""
	}
	page.Remedy = d.remedy(&best, c, "", s)
	if a := &judged.Advice; page.Remedy != nil && a.Better != "" {
		page.Remedy.Becomes = string(a.Better) + " or better, with a chance of " + paper.Chance(a.Chance) + "; as it is, " + paper.Chance(a.Now)
	}
	if try := &judged.Advice.Try; try.Remedy != "" {
		page.Try = &tryView{paper.Say("remedy", try.Remedy), paper.Chance(try.Useful)}
	}
}

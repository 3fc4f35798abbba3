package talk

import (
	"cmp"
	"maps"

	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// File files the check being worked on and lets its draft go. Another sample of
// a lot to which nothing was done is judged together with the one before. The
// error is a reading that cannot be: the dialogue asks again.
func (t *Talk) File() (session.Check, error) {
	draft := t.Draft()
	readings, pooled := t.pooled(draft)
	draft.Readings.Looked = cmp.Or(draft.Readings.Looked, grading.NotLooked)
	readings.Looked = max(readings.Looked, draft.Readings.Looked)
	lot := session.Check{Readings: readings}
	t.holdOn(&lot, draft.Corrects, draft.Recheck)
	judged, err := t.Judge(draft.Lot, lot.Readings, t.In.At, draft.Recheck, draft.Corrects)
	if err != nil {
		return session.Check{}, err
	}
	c := t.check(draft, lot, judged)
	if pooled {
		c.Sample = draft.Readings.Clone()
		if counted, ok := t.before(draft.Recheck); ok { // which may have been corrected since it was named
			c.Recheck = counted.Slip
		}
	}
	t.keepJudged(c.Slip, judged)
	var corrected session.Check
	if draft.Corrects != "" {
		corrected, _ = t.Check(draft.Corrects)
	}
	if old := corrected; old.Slip != "" && old.State != session.Withdrawn {
		old.State, old.ReplacedBy = session.Corrected, c.Slip
		t.SaveCheck(old)
		t.cancel(session.RecheckID(old.Slip))
	}
	if corrected.State == session.Withdrawn { // who was told of its dangers was told that it counts no more
		corrected = session.Check{}
	}
	var before session.Check
	if draft.Recheck != "" {
		if b, ok := t.before(draft.Recheck); ok && b.State == session.Filed {
			c.AfterHand = b.Readings.ByHand() && b.First()
			b.RecheckedBy = c.Slip
			t.SaveCheck(b)
			before = b
		}
		t.cancel(session.RecheckID(draft.Recheck))
	}
	t.SaveCheck(c)
	t.alert(c, corrected, before)
	t.followUp(c, t.mostWorth(c, judged.Advice.Best))
	t.DropDraft()
	return c, nil
}

// Complete changes what was seen and smelt in a filed check, under the same
// slip: it is judged anew, and what is dangerous in it is told. The error is a
// reading that cannot be.
func (t *Filing) Complete(c session.Check, change func(*grading.Readings)) (session.Check, error) {
	before := c
	held, from := c.Held, c.HeldFrom
	c.Readings, c.Held, c.HeldFrom = c.Said(), nil, ""
	change(&c.Readings)
	c.Hold(held, from)
	t.holdAll(&c)
	if c.Pooled() {
		c.Sample = c.Sample.Clone()
		change(&c.Sample)
	}
	judged, err := t.Judge(c.Lot, c.Readings, c.At, c.Recheck, c.Slip)
	if err != nil {
		return before, err
	}
	judged.Record(&c, t.Programme.Standard)
	t.keepJudged(c.Slip, judged)
	t.SaveCheck(c)
	if now := t.Programme.Dangers(&c); len(now) == 0 || !within(now, t.Programme.Dangers(&before)) {
		earlier, _ := t.before(c.Recheck)
		t.alert(c, session.Check{}, earlier)
	}
	t.followUp(c, t.mostWorth(c, judged.Advice.Best))
	return c, nil
}

func (t *Filing) check(draft *session.Draft, lot session.Check, judged programme.Judged) session.Check {
	grower := t.PersonOf(draft.Lot.Grower)
	c := session.Check{
		Slip: t.freeSlip(), State: session.Filed, Lot: draft.Lot, Readings: lot.Readings.Clone(), Held: lot.Held, HeldFrom: lot.HeldFrom,
		Reporter: t.Person.ID, Agent: grower.Agent, Channel: t.In.Channel, Language: t.Language,
		Started: draft.Started, At: t.In.At, Paces: maps.Clone(draft.Paces), Recheck: draft.Recheck,
		Procedure: session.Procedure,
	}
	if old, ok := t.Check(draft.Corrects); ok { // what is put right was measured then
		c.Procedure = old.Procedure
	}
	judged.Record(&c, t.Programme.Standard)
	if c.Lot.District == "" {
		c.Lot.District, c.Lot.Village = grower.District, grower.Village
	}
	c.Lot.District = cmp.Or(c.Lot.District, t.Person.District)
	return c
}

// Correctable reports whether this person can still correct or withdraw a check
// by phone.
func (t *Filing) Correctable(c session.Check) bool {
	mine := c.Reporter == t.Person.ID && c.Reporter != ""
	return mine && c.State == session.Filed && t.In.At.Sub(c.At) <= t.Programme.CorrectWithin()
}

// Withdraw marks a filed check as withdrawn; it stays in the ledger.
func (t *Filing) Withdraw(c session.Check) {
	c.State = session.Withdrawn
	t.SaveCheck(c)
	t.takeBack(c, "")
	t.cancel(session.RecheckID(c.Slip))
}

// Correct begins a draft that will replace a filed check; nil when too many
// checks are under way.
func (n *Notebook) Correct(c session.Check) *session.Draft {
	d := n.NewDraft(c.Lot)
	if d != nil {
		d.Readings, d.Corrects, d.Recheck = c.Said(), c.Slip, c.Recheck
		if c.Pooled() {
			d.Readings = c.Sample.Clone()
		}
		d.Paces = maps.Clone(c.Paces)
	}
	return d
}

// Recheck begins a draft of the same lot after its remedy: what held the grade
// down is measured again, the rest stays. If the advice was to measure again,
// everything is measured: it is a sample of its own. It returns nil when too
// many checks are under way.
func (t *Talk) Recheck(c session.Check) *session.Draft {
	d := t.NewDraft(c.Lot)
	if d == nil {
		return nil
	}
	d.Readings, d.Recheck = c.Readings.Clone(), c.Slip
	if d.Readings.Hand = (grading.Hand{}); c.Readings.ByHand() { // all is measured, or counted, anew
		d.Readings = grading.Readings{Class: c.Readings.Class}
	}
	for _, f := range programme.Again(t.Programme.Standard, c) {
		d.Readings.Unset(f)
	}
	d.Readings.Unset(grading.LiveWeevils) // are they gone, or there?
	d.Readings.Unset(grading.LiveOthers)
	d.Readings.Flags, d.Readings.Looked = nil, grading.NotRecorded
	return d
}

package session

import (
	"maps"
	"slices"

	"threshline/grading"
)

// File files the check being worked on and lets its draft go. Another sample of
// a lot to which nothing was done is judged together with the one before. The
// error is a reading that cannot be: the dialogue asks again.
func (t *Talk) File() (Check, error) {
	draft := t.Draft()
	readings, pooled := t.pooled(draft)
	judged, err := t.Judge(draft.Lot, readings, t.In.At, draft.Recheck, draft.Corrects)
	if err != nil {
		return Check{}, err
	}
	c := t.check(draft, readings, judged)
	if pooled {
		c.Sample = draft.Readings.Clone()
		if counted, ok := t.before(draft.Recheck); ok { // which may have been corrected since it was named
			c.Recheck = counted.Slip
		}
	}
	t.keepJudged(c.Slip, judged)
	var corrected Check
	if draft.Corrects != "" {
		corrected, _ = t.Check(draft.Corrects)
	}
	if old := corrected; old.Slip != "" {
		old.State, old.ReplacedBy = Corrected, c.Slip
		t.SaveCheck(old)
		t.writes.Remindings = append(t.writes.Remindings, Reminding{ID: recheckID(old.Slip), Cancel: true})
	}
	var before Check
	if draft.Recheck != "" {
		if b, ok := t.before(draft.Recheck); ok && b.State == Filed {
			b.RecheckedBy = c.Slip
			t.SaveCheck(b)
			before = b
		}
		t.writes.Remindings = append(t.writes.Remindings, Reminding{ID: recheckID(draft.Recheck), Cancel: true})
	}
	t.SaveCheck(c)
	t.alert(c, corrected, before)
	t.followUp(c, judged.Advice.Best)
	t.DropDraft()
	return c, nil
}

func (t *Talk) check(draft *Draft, readings grading.Readings, judged Judged) Check {
	grower := t.PersonOf(draft.Lot.Grower)
	c := Check{
		Slip: t.freeSlip(), State: Filed, Lot: draft.Lot, Readings: readings.Clone(),
		Reporter: t.Person.ID, Agent: grower.Agent, Channel: t.In.Channel, Language: t.Lang(),
		Started: draft.Started, At: t.In.At, Paces: maps.Clone(draft.Paces), Recheck: draft.Recheck,
	}
	judged.Record(&c, t.Programme.Standard)
	if c.Lot.District == "" {
		c.Lot.District, c.Lot.Village = grower.District, grower.Village
	}
	if c.Lot.District == "" {
		c.Lot.District = t.Person.District
	}
	return c
}

// Record writes what was decided, and by which table, into a check.
func (j *Judged) Record(c *Check, s *grading.Standard) {
	r, best := &j.Result, &j.Advice.Best
	c.StandardID, c.Edition = s.ID, s.Edition
	c.Grade, c.Rank, c.Of = r.Grade, r.Rank, r.Of
	c.Complete, c.Borderline, c.Confidence = r.Complete, r.Borderline, r.Confidence
	c.Deciding, c.Missing, c.Gates = slices.Clone(r.Deciding), slices.Clone(r.Missing), slices.Clone(r.Gates)
	c.Remedy, c.Becomes, c.BecomesRank = best.Remedy, best.Becomes, best.BecomesRank
	c.Values = map[grading.ParameterID]grading.Decimal{}
	for _, v := range r.Parameters {
		if v.Measured && v.Unit != grading.Word {
			c.Values[v.ID] = v.Shown
		}
	}
}

// freeSlip draws a slip that no filed check has.
func (t *Talk) freeSlip() Slip {
	for range 8 {
		s := NewSlip(t.Random())
		if _, taken := t.Check(s); !taken {
			return s
		}
	}
	return NewSlip(t.Random()) // the engine refuses it with ErrExists if it is taken
}

// SaveCheck writes a check with the turn.
func (t *Talk) SaveCheck(c Check) {
	for i := range t.writes.Checks {
		if t.writes.Checks[i].Slip == c.Slip {
			t.writes.Checks[i] = c
			return
		}
	}
	t.writes.Checks = append(t.writes.Checks, c)
}

// Concerns tells whether a check is the person's to go on with: they measured
// it, it is their lot or their grower's, or they coordinate its district.
func (t *Talk) Concerns(c Check) bool {
	me := t.Person.ID
	if me == "" {
		return false
	}
	return c.Reporter == me || c.Lot.Grower == me || t.PersonOf(c.Lot.Grower).Agent == me || t.Person.Coordinates(c.Lot.District)
}

// Mendable tells whether a check can still be corrected or withdrawn by phone
// by this person.
func (t *Talk) Mendable(c Check) bool {
	mine := c.Reporter == t.Person.ID && c.Reporter != ""
	return mine && c.State == Filed && t.In.At.Sub(c.At) <= t.Programme.MendWithin()
}

// Withdraw marks a filed check as withdrawn; it stays in the ledger.
func (t *Talk) Withdraw(c Check) {
	c.State = Withdrawn
	t.SaveCheck(c)
	t.takeBack(c, "")
	t.writes.Remindings = append(t.writes.Remindings, Reminding{ID: recheckID(c.Slip), Cancel: true})
}

// Correct begins a draft that will replace a filed check; nil when too many
// checks are under way.
func (t *Talk) Correct(c Check) *Draft {
	d := t.NewDraft(c.Lot)
	if d != nil {
		d.Readings, d.Corrects, d.Recheck = c.Readings.Clone(), c.Slip, c.Recheck
		if c.Pooled() {
			d.Readings = c.Sample.Clone()
		}
		d.Paces = maps.Clone(c.Paces)
	}
	return d
}

// Recheck begins a draft of the same lot after its remedy: what held the grade
// down is measured again, the rest stands. Where measuring again was the advice,
// all is: it is a sample of its own. nil when too many are under way.
func (t *Talk) Recheck(c Check) *Draft {
	d := t.NewDraft(c.Lot)
	if d == nil {
		return nil
	}
	d.Readings, d.Recheck = c.Readings.Clone(), c.Slip
	for _, f := range again(t.Programme.Standard, c) {
		d.Readings.Unset(f)
	}
	if c.Seen() { // is it gone?
		d.Readings.Unset(grading.LiveWeevils)
		d.Readings.Unset(grading.LiveOthers)
	}
	d.Readings.Flags = nil
	return d
}

// Seen tells whether anything was seen or smelt in the lot, live insects too.
func (c *Check) Seen() bool { return len(c.Readings.Flags) > 0 || c.infested() }

// infested tells whether a live insect was seen.
func (c *Check) infested() bool {
	weevils, _ := c.Readings.Get(grading.LiveWeevils)
	others, _ := c.Readings.Get(grading.LiveOthers)
	return weevils > 0 || others > 0
}

// again lists the fields to measure anew: those that the deciding parameters
// are made of, and with them every field of a parameter that shares a mass or
// a pan with them, because a new sample is taken. Where the sample itself was
// the trouble, all is measured.
func again(s *grading.Standard, c Check) []grading.Field {
	if c.resamples() {
		return sampled(&c)
	}
	fields := map[grading.Field]bool{}
	if len(c.Deciding) == 0 {
		fields[grading.Moisture] = true
	}
	for _, id := range c.Deciding {
		if p := s.Parameter(id); p != nil {
			mark(fields, p)
		}
	}
	for grew := true; grew; {
		grew = false
		for i := range s.Parameters {
			p, shares := &s.Parameters[i], false
			for _, term := range p.Terms {
				shares = shares || fields[term.Over] && term.Over != grading.NoField
			}
			if before := len(fields); shares {
				mark(fields, p)
				grew = grew || len(fields) > before
			}
		}
	}
	return slices.DeleteFunc(grading.Fields(), func(f grading.Field) bool { return !fields[f] })
}

func mark(fields map[grading.Field]bool, p *grading.Parameter) {
	for _, term := range p.Terms {
		for _, f := range term.Fields {
			fields[f] = true
		}
		fields[term.Over] = true
	}
}

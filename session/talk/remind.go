package talk

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// remindStale is how long a reminder may come late before it is dropped.
// Source: assumed.
const remindStale = 36 * time.Hour

// followUp sets the reminders that follow a filed check.
func (t *Filing) followUp(c session.Check, best advice.Option) {
	if best.Remedy != "" && best.When == advice.ThisLot && best.AgainDays > 0 && c.State == session.Filed && len(programme.Unfit(&c)) == 0 {
		t.remindMe(session.RecheckID(c.Slip), session.RecheckKind, t.In.At.AddDate(0, 0, best.AgainDays), c.Slip)
	}
	// For minutes around Monday at eight the last week may be due still, or sent just now by
	// a gateway whose clock is ahead: what is set stays.
	next := t.Programme.NextMonday(t.In.At)
	if t.Person.Role == session.Agent && next.Sub(t.In.At) > session.ClocksApart && t.In.At.Sub(next.AddDate(0, 0, -7)) > session.ClocksApart {
		t.remindMe(session.TallyID(t.Person.ID), session.TallyKind, next, "")
	}
}

// remindUnfinished sets the one reminder about unfinished checks while there
// are any, and cancels it when there are none.
func (t *Talk) remindUnfinished() {
	d, had := t.Dialogue, t.Memo().Unfinished
	switch id := session.UnfinishedID(t.Person.ID); {
	case t.Person.ID == "":
	case len(d.Drafts) > 0 && !had:
		t.Memo().Unfinished = true
		t.remindMe(id, session.UnfinishedKind, t.In.At.Add(t.Programme.DraftWithin()/2), "")
	case len(d.Drafts) == 0 && had:
		t.Memo().Unfinished = false
		t.cancel(id)
	}
}

// recheckStale is how long a reminder to check again may be put off before it is
// dropped. Source: assumed.
const recheckStale = 7 * 24 * time.Hour

// Remind is the turn of a person's reminders that fell due: messages, or a
// later try. A person who stopped messages, left or has no number gets nothing.
// Errors are faults of the store.
func (m *Machine) Remind(v session.View, due []session.Reminder, now time.Time, entropy [2]uint64, budget session.Budget) (session.Writes, error) {
	p, err := v.Person(due[0].Person)
	if errors.Is(err, session.ErrNotFound) {
		return session.Writes{Reply: session.Reply{Silent: true}}, nil
	}
	if err != nil {
		return session.Writes{}, fmt.Errorf("talk: read the person: %w", err)
	}
	silentTurn := session.Writes{Reply: session.Reply{Silent: true}}
	if !p.Writable() {
		return silentTurn, nil
	}
	in := session.Input{Kind: session.SMS, Phone: p.Phone, At: now, Entropy: entropy, Budget: budget}
	t, err := m.open(v, in)
	if err != nil {
		return session.Writes{}, err
	}
	t.writes.Reply = session.Reply{Silent: true}
	soon := reminding{t}
	var alerts, rechecks []session.Reminder
	for _, r := range due {
		switch r.Kind {
		case session.RecheckKind:
			rechecks = append(rechecks, r)
		case session.AlertKind:
			alerts = append(alerts, r)
		case session.UnfinishedKind:
			soon.remindDrafts(r)
		case session.TallyKind:
			soon.tally(r)
		case session.DigestKind:
			soon.digest(r)
		}
	}
	t.tellJoined(alerts)
	soon.remindRechecks(rechecks)
	if t.writes.Dialogue != nil {
		t.writes.Asks, t.writes.Rests = t.asks(), t.Dialogue.Last.Add(t.Programme.ResumeWithin())
	}
	return t.done(), t.fault
}

// send queues a message of ours to the person.
func (t *Talk) send(text string, purpose session.Purpose, slip session.Slip) {
	text = t.showable(text)
	t.queue(t.In.Phone, text, purpose, slip)
	t.Dialogue.Recent = append(t.Dialogue.Recent, fingerprint(""), fingerprint(text))
	t.Dialogue.Recent = t.Dialogue.Recent[max(len(t.Dialogue.Recent)-mostRecent, 0):]
	t.writes.Dialogue = t.Dialogue
}

// reminding tells somebody what is due, in a turn that no message began.
type reminding struct{ *Talk }

// remindRechecks asks for one lot's new reading, if the person is not busy. The
// other reminders are put off to a later time, and those that waited too long
// are dropped.
func (t reminding) remindRechecks(due []session.Reminder) {
	asked := false
	for _, r := range due {
		if r.First.IsZero() {
			r.First = r.Due
		}
		c, ok := t.Check(r.Slip)
		switch {
		case !ok || c.State != session.Filed || t.In.At.Sub(r.First) > recheckStale:
		case t.idle && !asked:
			asked = true
			t.remindRecheck(c)
		default:
			r.Due = t.Dialogue.Last.Add(t.patience() + time.Minute)
			if !r.Due.After(t.In.At) { // a clock that went back
				r.Due = t.In.At.Add(time.Hour)
			}
			t.remind(r)
		}
	}
}

// remindRecheck asks for the new reading and prepares the re-check, so that the
// person only has to send the number.
func (t reminding) remindRecheck(c session.Check) {
	key := "remind.recheck"
	if again := programme.Again(t.Programme.Standard, c); slices.Equal(again, []grading.Field{grading.Moisture}) && !programme.Resamples(&c) {
		key = "remind.dry"
	}
	if c.Remedy == advice.ClearInsects { // whether any lives is what is to be known
		key = "remind.insects"
	}
	t.settle()
	if c.Readings.ByHand() || t.Recheck(c) == nil { // by hand again, or with tools: that is asked
		t.send(t.Say("remind.recheck_later", "slip", string(c.Slip)), session.Reminding, c.Slip)
		return
	}
	t.Dialogue.Screen = StepScreen
	t.Dialogue.Last = t.In.At
	t.Dialogue.Expires = t.In.At.Add(t.keepFor())
	t.Memo().Unfinished = true
	t.Memo().Asked = true
	t.remindMe(session.UnfinishedID(t.Person.ID), session.UnfinishedKind, t.In.At.Add(t.Programme.DraftWithin()/2), "")
	t.send(t.Say(key, "slip", string(c.Slip)), session.Reminding, c.Slip)
}

// remindDrafts reminds once of each unfinished check. A check that was left too
// long is dropped, and its readings are sent back.
func (t reminding) remindDrafts(r session.Reminder) {
	d, keep := t.Dialogue, t.Programme.DraftWithin()
	left, next := 0, time.Time{}
	for i := len(d.Drafts) - 1; i >= 0; i-- {
		draft := &d.Drafts[i]
		rested := t.In.At.Sub(draft.Touched)
		switch {
		case rested >= keep:
			if typed(draft) {
				t.send(t.lastCopy(&t.Voice, draft), session.Reminding, "")
			}
			d.Drafts = slices.Delete(d.Drafts, i, i+1)
			d.Current, d.Screen = -1, ""
			continue
		case rested >= keep/2-keep/12 && !draft.Reminded: // those of one morning in one message
			draft.Reminded = true
			if !laid(draft) { // it was asked for once
				left++
			}
		}
		due := draft.Touched.Add(keep / 2)
		if draft.Reminded {
			due = draft.Touched.Add(keep)
		}
		if next.IsZero() || due.Before(next) {
			next = due
		}
	}
	if left > 0 {
		t.send(t.Say("remind.unfinished", "count", left), session.Reminding, "")
	}
	t.writes.Dialogue = d
	if next.IsZero() {
		t.Memo().Unfinished = false
		return
	}
	r.Due = next
	t.remind(r)
}

// tally is an agent's week: the number of checks, the lots by grade (each
// counted by its newest check), and what is unfinished.
func (t reminding) tally(r session.Reminder) {
	checks, err := t.view.ChecksBy(t.Person.ID, session.MostTallied)
	t.fail(err)
	since, grades, count := t.In.At.AddDate(0, 0, -7), map[string]int{}, 0
	for _, c := range checks {
		if c.State == session.Filed && c.At.After(since) {
			count++
			if programme.Newer(c, t.Check) == "" {
				word := t.GradeWord(c.Grade)
				if c.Ungraded() {
					word = t.Say("hand.mine")
				}
				grades[word]++
			}
		}
	}
	var parts []string
	for _, g := range slices.Sorted(maps.Keys(grades)) {
		parts = append(parts, fmt.Sprintf("%s: %d", g, grades[g]))
	}
	if count > 0 || len(t.Dialogue.Drafts) > 0 {
		t.send(t.Say("remind.tally", "count", count, "grades", cmp.Or(strings.Join(parts, ", "), "0"), "unfinished", len(t.Dialogue.Drafts)), session.Digest, "")
		r.Due = t.Programme.NextMonday(t.In.At)
		t.remind(r)
	}
}

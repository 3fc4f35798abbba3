package talk

import (
	"slices"
	"time"

	"threshline/grading"
	"threshline/session"
)

// MostDrafts is how many checks a person can have under way.
const MostDrafts = 9

// Draft is the check being worked on; nil when none is.
func (t *Talk) Draft() *session.Draft {
	d := t.Dialogue
	if d.Current < 0 || d.Current >= len(d.Drafts) {
		return nil
	}
	return &d.Drafts[d.Current]
}

// NewDraft begins a check and works on it. It gives nil when too many are
// under way.
func (t *Talk) NewDraft(lot session.Lot) *session.Draft {
	t.park()
	d := t.Dialogue
	if len(d.Drafts) >= MostDrafts {
		return nil
	}
	d.Drafts = append(d.Drafts, session.Draft{
		Lot: lot, Started: t.In.At, Touched: t.In.At, Paces: map[grading.Field]int{},
	})
	d.Current = len(d.Drafts) - 1
	return &d.Drafts[d.Current]
}

// TakeUp goes on with a parked check; it gives nil when there is none such.
func (t *Talk) TakeUp(i int) *session.Draft {
	if i < 0 || i >= len(t.Dialogue.Drafts) {
		return nil
	}
	t.Dialogue.Current = i
	return t.Draft()
}

// DropDraft lets the check being worked on go.
func (t *Talk) DropDraft() {
	d := t.Dialogue
	if t.Draft() != nil {
		d.Drafts = slices.Delete(d.Drafts, d.Current, d.Current+1)
	}
	d.Current = -1
}

// park puts the check being worked on aside; one that holds nothing is let go.
func (t *Talk) park() {
	draft := t.Draft()
	if draft == nil {
		t.Dialogue.Current = -1
		return
	}
	if holdsNothing(draft) {
		t.DropDraft()
		return
	}
	if id := t.Dialogue.Screen; id != "" && id != MenuScreen && id != HowScreen && id != ZeroScreen {
		draft.Screen = id
	}
	t.Dialogue.Current = -1
}

// holdsNothing tells whether a draft can be let go: nothing was said of the lot.
func holdsNothing(d *session.Draft) bool {
	if d.Lot.Bags > 0 || d.Lot.KG > 0 || d.Recheck != "" || d.Corrects != "" {
		return false
	}
	return !measured(d)
}

// measured tells whether there are readings to give back.
func measured(d *session.Draft) bool { return slices.ContainsFunc(grading.Fields(), d.Readings.Has) }

// Set records a reading of the check being worked on, and when it came.
func (t *Talk) Set(f grading.Field, value grading.Decimal) {
	draft := t.Draft()
	if f == grading.Moisture {
		draft.Readings.Repeats = append(draft.Readings.Repeats, value)
	} else {
		draft.Readings.Set(f, value)
	}
	t.Touch(f)
}

// Touch notes that a reading came now.
func (t *Talk) Touch(f grading.Field) {
	draft := t.Draft()
	draft.Touched = t.In.At
	if draft.Paces == nil {
		draft.Paces = map[grading.Field]int{}
	}
	if _, known := draft.Paces[f]; !known {
		draft.Paces[f] = max(0, int(t.In.At.Sub(draft.Started)/time.Second))
	}
}

// Skip notes that a field cannot be measured on this lot.
func (t *Talk) Skip(f grading.Field) {
	draft := t.Draft()
	if !slices.Contains(draft.Skipped, f) {
		draft.Skipped = append(draft.Skipped, f)
	}
	draft.Readings.Unset(f)
}

// dropDrafts lets go what was left untouched for too long. The reminder that
// fell due before has sent a last copy; where it did not run, one goes now.
func (t *Talk) dropDrafts() {
	d := t.Dialogue
	if t.Person.ID == "" { // of somebody who moved to another number or was forgotten: nobody else's to see
		d.Drafts, d.Current = nil, -1
	}
	for i := len(d.Drafts) - 1; i >= 0; i-- {
		if t.In.At.Sub(d.Drafts[i].Touched) <= t.Programme.DraftWithin()+dropGrace {
			continue
		}
		if t.Person.Stopped.IsZero() && measured(&d.Drafts[i]) {
			t.send(t.lastCopy(&t.Voice, &d.Drafts[i]), session.Reminder, "")
		}
		d.Drafts = slices.Delete(d.Drafts, i, i+1)
		switch {
		case d.Current == i:
			d.Current = -1
			d.Screen = ""
			t.idle = true
		case d.Current > i:
			d.Current--
		}
	}
}

// dropGrace lets the last copy go out before a draft is dropped.
const dropGrace = time.Hour

// lastCopy is the text that gives a draft's readings back when it is let go.
func (t *Talk) lastCopy(to *Voice, d *session.Draft) string {
	return to.Say("remind.let_go", "lot", to.lotName(t.PersonOf(d.Lot.Grower).Name, d.Lot), "readings", to.Copy(d.Readings))
}

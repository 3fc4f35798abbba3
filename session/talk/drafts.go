package talk

import (
	"slices"
	"time"

	"threshline/session"
)

// dropDrafts drops the drafts that nobody touched for too long. A reminder has
// sent a last copy before; if it did not run, the copy is sent now.
func (t *Talk) dropDrafts() {
	d := t.Dialogue
	if t.Person.ID == "" { // of somebody who moved to another number or was forgotten: nobody else's to see
		d.Drafts, d.Current = nil, -1
	}
	for i := len(d.Drafts) - 1; i >= 0; i-- {
		if t.In.At.Sub(d.Drafts[i].Touched) <= t.Programme.DraftWithin()+dropGrace {
			continue
		}
		if t.Person.Stopped.IsZero() && typed(&d.Drafts[i]) {
			t.send(t.lastCopy(&t.Voice, &d.Drafts[i]), session.Reminding, "")
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

// lastCopy is the text that sends a draft's readings back when it is dropped.
func (t *Filing) lastCopy(to *Voice, d *session.Draft) string {
	return to.Say("remind.let_go", "lot", to.lotName(t.PersonOf(d.Lot.Grower).Name, d.Lot), "readings", to.Copy(d.Readings))
}

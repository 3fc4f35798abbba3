package talk

import (
	"slices"
	"time"

	"threshline/session"
)

// mostRecent is how many fingerprints a dialogue keeps: four messages with
// their replies, in turn, oldest first.
const mostRecent = 8

// close makes the writes of the turn: the reply, the dialogue, the people. A
// message that would continue a loop gets no reply, and only the memory of it
// is stored.
func (t *Talk) close() (session.Writes, error) {
	if t.fault != nil {
		return session.Writes{}, t.fault
	}
	reply := session.Reply{}
	if t.reply != nil {
		reply = *t.reply
	} else {
		reply = t.render()
	}
	if t.fault != nil {
		return session.Writes{}, t.fault
	}
	e := echo{&t.Notebook, t.In.Text, t.Person.ID == "", t.understood, t.reply != nil}
	if t.In.Kind == session.SMS && e.loops(reply.Text) {
		reply = session.Reply{Silent: true}
	}
	reply.Safety = reply.Safety || t.stops(reply.Text)
	d := t.Dialogue
	t.remindUnfinished()
	t.remindDigest()
	if t.In.Kind == session.SMS {
		e.rememberTold(reply.Text)
	}
	d.Recent = append(d.Recent, fingerprint(t.In.Text), fingerprint(reply.Text))
	d.Recent = d.Recent[max(len(d.Recent)-mostRecent, 0):]
	d.Last = t.In.At
	d.Expires = t.In.At.Add(t.keepFor())
	t.writes.Dialogue = d
	if t.forgotten {
		t.writes.Dialogue = &session.Dialogue{Phone: d.Phone, Version: d.Version, Current: -1}
	}
	t.writes.Reply, t.writes.Asks, t.writes.Rests = reply, t.asks(), d.Last.Add(t.Programme.ResumeWithin())
	return t.done(), t.fault
}

// keepFor is how long the dialogue is kept after this message: as long as a
// draft for people we know, an hour for others.
func (t *Filing) keepFor() time.Duration {
	if t.Person.ID == "" {
		return strangerFor
	}
	return max(t.Programme.DraftWithin(), t.Programme.ResumeWithin()) + 24*time.Hour
}

// strangerFor is how long we keep the dialogue of somebody who has not agreed
// to anything: long enough to finish a greeting, or to slow down a guesser.
// Source: assumed.
const strangerFor = time.Hour

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

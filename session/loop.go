package session

import (
	"hash/fnv"
	"strings"
	"time"
)

// mostRecent is how many fingerprints a dialogue keeps: four messages with
// their replies, in turn, oldest first.
const mostRecent = 8

// close makes the writes of the turn: the reply, the dialogue, the people. A
// message that would go on a loop is met with silence and changes nothing but
// what is remembered of it.
func (t *Talk) close() (Writes, error) {
	if t.fault != nil {
		return Writes{}, t.fault
	}
	reply := Reply{}
	if t.reply != nil {
		reply = *t.reply
	} else {
		reply = t.render()
	}
	if t.fault != nil {
		return Writes{}, t.fault
	}
	if t.In.Kind == SMS && t.loops(reply.Text) {
		reply = Reply{Silent: true}
	}
	d := t.Dialogue
	t.remindUnfinished()
	d.Recent = append(d.Recent, fingerprint(t.In.Text), fingerprint(reply.Text))
	d.Recent = d.Recent[max(len(d.Recent)-mostRecent, 0):]
	d.Last = t.In.At
	d.Expires = t.In.At.Add(t.keepFor())
	t.writes.Dialogue = d
	if t.forgotten {
		t.writes.Dialogue = &Dialogue{Phone: d.Phone, Version: d.Version, Current: -1}
	}
	t.writes.People = append(t.writes.People, t.savedPeople()...)
	t.writes.Reply = reply
	return t.writes, nil
}

// keepFor is how long the dialogue is kept after this message: as long as a
// draft for people we know, an hour for others.
func (t *Talk) keepFor() time.Duration {
	if t.Person.ID == "" {
		return strangerFor
	}
	return max(t.Programme.draftFor(), t.Programme.resumeFor()) + 24*time.Hour
}

// strangerFor is how long something is kept of somebody who has not agreed to
// anything: enough to finish a greeting, or to slow a guesser. Source: assumed.
const strangerFor = time.Hour

// loops tells whether answering would keep two machines talking: our own text
// comes back, or a third message in a row gets the same reply to the same text
// or to nothing we understand.
func (t *Talk) loops(reply string) bool {
	r := t.Dialogue.Recent
	in, out := fingerprint(t.In.Text), fingerprint(reply)
	for i := 1; i < len(r); i += 2 {
		if r[i] == in && len(t.In.Text) > 3 {
			return true
		}
	}
	n := len(r)
	if n < 4 {
		return t.strayAgain()
	}
	same := r[n-2] == in && r[n-4] == in && (r[n-1] == out || r[n-1] == silent)
	return same || t.strayAgain()
}

// silent is the fingerprint of no reply.
var silent = fingerprint("")

// strayAgain counts long texts in a row that no screen took, as automatic
// replies are; the third is not answered.
func (t *Talk) strayAgain() bool {
	words := len(strings.Fields(t.In.Text))
	if t.understood || t.reply != nil || words < 4 {
		if t.understood {
			t.Remember(memoStray, "")
		}
		return false
	}
	n := t.Memo(memoStray) + "x"
	t.Remember(memoStray, n)
	return len(n) >= 3
}

const memoStray = "_stray"

// fingerprint is a hash of what a text says, whatever its case and spacing.
func fingerprint(text string) uint64 {
	h := fnv.New64a()
	h.Write([]byte(strings.ToLower(strings.Join(strings.Fields(text), " "))))
	return h.Sum64()
}

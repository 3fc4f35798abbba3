package talk

import (
	"slices"
	"strings"
	"threshline/session"
	"time"
	"unicode"
	"unicode/utf8"
)

// mostRecent is how many fingerprints a dialogue keeps: four messages with
// their replies, in turn, oldest first.
const mostRecent = 8

// close makes the writes of the turn: the reply, the dialogue, the people. A
// message that would go on a loop is met with silence and changes nothing but
// what is remembered of it.
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
	if t.In.Kind == session.SMS && t.loops(reply.Text) {
		reply = session.Reply{Silent: true}
	}
	d := t.Dialogue
	t.remindUnfinished()
	t.remindDigest()
	if t.In.Kind == session.SMS {
		t.rememberTold(reply.Text)
	}
	d.Recent = append(d.Recent, fingerprint(t.In.Text), fingerprint(reply.Text))
	d.Recent = d.Recent[max(len(d.Recent)-mostRecent, 0):]
	d.Last = t.In.At
	d.Expires = t.In.At.Add(t.keepFor())
	t.writes.Dialogue = d
	if t.forgotten {
		t.writes.Dialogue = &session.Dialogue{Phone: d.Phone, Version: d.Version, Current: -1}
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
	return max(t.Programme.DraftWithin(), t.Programme.ResumeWithin()) + 24*time.Hour
}

// strangerFor is how long something is kept of somebody who has not agreed to
// anything: enough to finish a greeting, or to slow a guesser. Source: assumed.
const strangerFor = time.Hour

// loops tells whether answering would keep two machines talking: our own text
// comes back, alone or inside another, or a third message in a row gets the
// same reply to the same text or to nothing we understand.
func (t *Talk) loops(reply string) bool {
	r := t.Dialogue.Recent
	if t.holdsTold() || t.countsUp() {
		return true
	}
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

// countsUp tells a machine that always says the same, or numbers its texts: a
// third one in a row that differs from those before in its digits alone, has a
// word in it, and is taken by no screen. Of a stranger it counts what the
// greeting takes as well, since that takes anything.
func (t *Talk) countsUp() bool {
	stranger := t.Person.ID == ""
	letters := longWord
	if stranger {
		letters = shortWord
	}
	m, mark, times := t.Memo(), fingerprint(shape(t.In.Text)), 1
	if m.Shapes > 0 && m.Shape == mark {
		times += m.Shapes
	}
	m.Shape, m.Shapes = 0, 0
	if t.understood && !stranger || !hasWord(t.In.Text, letters) {
		return false
	}
	m.Shape, m.Shapes = mark, min(times, mostShapes)
	return times >= mostShapes
}

// Letters in a row that make a word: an answer in figures has none, nor has
// the letter of a reading. Source: assumed.
const (
	longWord  = 4
	shortWord = 2
)

// mostShapes texts of one shape in a row are a machine's.
const mostShapes = 3

// shape is a text with its numbers left out.
func shape(text string) string {
	return strings.Join(strings.FieldsFunc(text, func(r rune) bool { return unicode.IsDigit(r) || unicode.IsSpace(r) }), " ")
}

// hasWord tells whether a text has so many letters in a row.
func hasWord(text string, letters int) bool {
	run := 0
	for _, r := range text {
		run++
		if !unicode.IsLetter(r) {
			run = 0
		}
		if run == letters {
			return true
		}
	}
	return false
}

// toldRunes is how many letters of a reply's beginning are looked for in what
// comes in: long enough that nobody types them by chance. Source: assumed.
const toldRunes = 24

// mostTold is how many replies are kept so.
const mostTold = 3

// rememberTold keeps a fingerprint of how a reply begins.
func (t *Talk) rememberTold(reply string) {
	begin := []rune(squeezed(reply))
	if len(begin) < toldRunes {
		return
	}
	told := append(t.Dialogue.Told, fingerprint(string(begin[:toldRunes])))
	t.Dialogue.Told = told[max(0, len(told)-mostTold):]
}

// holdsTold tells whether a text holds the beginning of what we said lately,
// as a text that is passed on or quoted does.
func (t *Talk) holdsTold() bool {
	told := t.Dialogue.Told
	text := []rune(squeezed(t.In.Text))
	if len(told) == 0 {
		return false
	}
	for i := 0; i+toldRunes <= len(text); i++ {
		if slices.Contains(told, fingerprint(string(text[i:i+toldRunes]))) {
			return true
		}
	}
	return false
}

// silent is the fingerprint of no reply.
var silent = fingerprint("")

// strayAgain counts long texts in a row that no screen took, as automatic
// replies are; the third is not answered.
func (t *Talk) strayAgain() bool {
	words := len(strings.Fields(t.In.Text))
	if t.understood || t.reply != nil || words < 4 {
		if t.understood {
			t.Memo().Strays = 0
		}
		return false
	}
	t.Memo().Strays++
	return t.Memo().Strays >= 3
}

// fingerprint is a hash of what a text says, whatever its case and spacing: the
// FNV-1a hash of its squeezed form, which is never made, since every turn asks.
func fingerprint(text string) uint64 {
	const offset, prime = 14695981039346656037, 1099511628211
	h := uint64(offset)
	begun, gap := false, false
	var letter [utf8.UTFMax]byte
	for _, r := range text {
		if unicode.IsSpace(r) {
			gap = begun
			continue
		}
		if gap {
			h = (h ^ ' ') * prime
		}
		begun, gap = true, false
		for _, b := range letter[:utf8.EncodeRune(letter[:], unicode.ToLower(r))] {
			h = (h ^ uint64(b)) * prime
		}
	}
	return h
}

// squeezed is a text in small letters with single spaces.
func squeezed(text string) string { return strings.ToLower(strings.Join(strings.Fields(text), " ")) }

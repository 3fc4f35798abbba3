package talk

import (
	"slices"
	"time"

	"threshline/grading"
	"threshline/session"
)

// MostDrafts is how many checks a person can have under way.
const MostDrafts = 9

// Notebook is the dialogue under way: the checks that were begun, and what is to
// be remembered.
type Notebook struct {
	Dialogue *session.Dialogue
	// Spare is how many checks beyond MostDrafts can be begun in this turn. The
	// code that sets it must file or drop them.
	Spare int
	at    time.Time
}

// Draft is the check being worked on; nil when none is.
func (n *Notebook) Draft() *session.Draft {
	d := n.Dialogue
	if d.Current < 0 || d.Current >= len(d.Drafts) {
		return nil
	}
	return &d.Drafts[d.Current]
}

// NewDraft begins a check and works on it. It returns nil when too many are
// under way.
func (n *Notebook) NewDraft(lot session.Lot) *session.Draft {
	n.park()
	d := n.Dialogue
	if len(d.Drafts) >= MostDrafts+n.Spare {
		return nil
	}
	d.Drafts = append(d.Drafts, session.Draft{
		Lot: lot, Started: n.at, Touched: n.at, Paces: map[grading.Field]int{},
	})
	d.Current = len(d.Drafts) - 1
	return &d.Drafts[d.Current]
}

// TakeUp goes on with a parked check; it returns nil when there is no such
// check.
func (n *Notebook) TakeUp(i int) *session.Draft {
	if i < 0 || i >= len(n.Dialogue.Drafts) {
		return nil
	}
	n.Dialogue.Current = i
	return n.Draft()
}

// DropDraft drops the check being worked on.
func (n *Notebook) DropDraft() {
	d := n.Dialogue
	if n.Draft() != nil {
		d.Drafts = slices.Delete(d.Drafts, d.Current, d.Current+1)
	}
	d.Current = -1
}

// park puts the check being worked on aside; an empty one is dropped.
func (n *Notebook) park() {
	draft := n.Draft()
	if draft == nil {
		n.Dialogue.Current = -1
		return
	}
	if holdsNothing(draft) {
		n.DropDraft()
		return
	}
	if id := n.Dialogue.Screen; id != "" && id != MenuScreen && id != HowScreen && id != ZeroScreen {
		draft.Screen = id
	}
	n.Dialogue.Current = -1
}

// holdsNothing reports whether a draft can be dropped: nothing was said about
// the lot.
func holdsNothing(d *session.Draft) bool {
	if d.Lot.Bags > 0 || d.Lot.KG > 0 || d.Recheck != "" || d.Corrects != "" {
		return false
	}
	return !measured(d) && len(d.Readings.Flags) == 0
}

// measured reports whether there are readings, or counts by hand.
func measured(d *session.Draft) bool {
	return d.Readings.Hand.Made() || slices.ContainsFunc(grading.Fields(), d.Readings.Has)
}

// laid reports whether a re-check was prepared and has no answer yet: all its
// readings are from the check before.
func laid(d *session.Draft) bool {
	return d.Recheck != "" && d.Corrects == "" && len(d.Paces) == 0 && !d.Touched.After(d.Started)
}

// typed reports whether the draft has readings that the person sent, so that
// they can be sent back.
func typed(d *session.Draft) bool { return measured(d) && !laid(d) }

// Set records a reading of the check being worked on, and when it came.
func (n *Notebook) Set(f grading.Field, value grading.Decimal) {
	draft := n.Draft()
	if f == grading.Moisture {
		draft.Readings.Repeats = append(draft.Readings.Repeats, value)
	} else {
		draft.Readings.Set(f, value)
	}
	n.Touch(f)
}

// Touch notes that a reading came now.
func (n *Notebook) Touch(f grading.Field) {
	draft := n.Draft()
	draft.Touched = n.at
	if draft.Paces == nil {
		draft.Paces = map[grading.Field]int{}
	}
	if _, known := draft.Paces[f]; !known {
		draft.Paces[f] = max(0, int(n.at.Sub(draft.Started)/time.Second))
	}
}

// Skip notes that a field cannot be measured on this lot.
func (n *Notebook) Skip(f grading.Field) {
	draft := n.Draft()
	if !slices.Contains(draft.Skipped, f) {
		draft.Skipped = append(draft.Skipped, f)
	}
	draft.Readings.Unset(f)
}

// Memo is what the dialogue remembers, to be read and changed.
func (n *Notebook) Memo() *session.Memo { return &n.Dialogue.Memo }

// Lead keeps a line to say before the screen. It stays on all pages of that
// screen, until the next entry.
func (n *Notebook) Lead(line string) {
	if line != "" {
		n.Memo().Lead = line
	}
}

// Led reports whether a line about what was wrong stands before the screen.
func (n *Notebook) Led() bool { return n.Memo().Lead != "" && n.Memo().Refused }

// keep returns the part of the memo that outlives a pause: the language chosen
// before anything was agreed to, an invitation or a whole check that came with
// the first message, and what was said already or has a reminder.
func (n *Notebook) keep() session.Memo {
	m := n.Memo()
	return session.Memo{Language: m.Language, Invitation: m.Invitation, First: m.First, StopTold: m.StopTold, Unfinished: m.Unfinished}
}

// Missed counts a wrong slip or code.
func (n *Notebook) Missed() {
	n.Dialogue.Wrong++
	n.Dialogue.WrongSince = n.at
}

// Slow returns how long a person who tried too many wrong slips has to wait: a
// minute after the fifth, twice as long after each further one, up to an hour.
// Source: assumed.
func (n *Notebook) Slow() time.Duration {
	return slowed(n.Dialogue.Wrong, n.at.Sub(n.Dialogue.WrongSince))
}

// MissedCode counts a wrong code. A right slip does not reset this count.
func (n *Notebook) MissedCode() {
	n.Dialogue.WrongCodes++
	n.Dialogue.CodesSince = n.at
}

// SlowCode is Slow for codes.
func (n *Notebook) SlowCode() time.Duration {
	return slowed(n.Dialogue.WrongCodes, n.at.Sub(n.Dialogue.CodesSince))
}

func slowed(wrong int, since time.Duration) time.Duration {
	if wrong < wrongSlips {
		return 0
	}
	return max(0, min(time.Minute<<min(wrong-wrongSlips, 6), time.Hour)-since)
}

// wrongSlips is how many wrong slips, or codes, in a row are answered without delay.
const wrongSlips = 5

package talk

import (
	"threshline/session"
)

// MoveNumber gives a person a new telephone number; their record goes with
// them, and the old number is told. What they had begun on the old one cannot
// go: its readings are sent to the new number, in the shorthand, so that they
// can be sent again.
func (t *Talk) MoveNumber(p session.Person, to session.Phone) session.Person {
	was := p.Phone
	p.Phone = to
	theirs := t.Voice
	theirs.Language = theirs.languageOf(p)
	if was != "" && was != to {
		d, err := t.view.Dialogue(was)
		t.fail(err)
		for _, draft := range d.Drafts {
			if p.Stopped.IsZero() && !holdsNothing(&draft) {
				t.queue(to, t.showable(t.lastCopy(&theirs, &draft)), session.Reminding, "")
			}
		}
		if was.Answerable() { // told whatever they wanted: it may not have been they
			t.queue(was, theirs.Say("moved.told", "programme", t.Programme.Name, "end", ending(to)), session.Safety, "")
		}
	}
	p = t.Save(p)
	t.Note("moved a person to a new number", p.ID)
	return p
}

// LocalNumber reads a telephone number written as in the programme's region.
func (t *Filing) LocalNumber(digits string) (session.Phone, bool) {
	if t.machine.Number == nil {
		return "", false
	}
	return t.machine.Number(digits)
}

// ending is the end of a number, long enough for its owner to know which one it
// is.
func ending(p session.Phone) string { return string(p[max(0, len(p)-2):]) }

// takeOver moves the record that a code is for to the phone that is talking, if
// its person still has the role and district of the time when the code was made.
// If that phone has a new record on which nothing depends, that record is deleted;
// any other record means that the phone belongs to somebody already. takeOver
// returns the key of the words that say why nothing was moved.
func (t *Talk) takeOver(i *session.Invite) (problem string) {
	p, mine := t.PersonOf(i.Person), t.Person
	switch {
	case p.ID == "" || p.Forgotten || p.ID == mine.ID || p.Role != i.Role || p.District != i.District:
		t.MissedCode()
		return "wrong.code"
	case !t.unused(mine):
		return "wrong.own_record"
	case mine.Version > 0:
		t.put(mine.Anonymous())
	default:
		delete(t.people, mine.ID) // it was never stored
	}
	p.Language, p.Consent = mine.Language, mine.Consent
	t.MoveNumber(p, t.In.Phone)
	return ""
}

// unused reports whether nothing depends on a record: no lot, no check, no
// other person.
func (t *Filing) unused(p session.Person) bool {
	if p.Role != session.Grower || p.Agent != "" {
		return false
	}
	of, err := t.view.ChecksOf(p.ID, 1)
	t.fail(err)
	by, err := t.view.ChecksBy(p.ID, 1)
	t.fail(err)
	return len(of) == 0 && len(by) == 0
}

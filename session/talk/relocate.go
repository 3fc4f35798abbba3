package talk

import "threshline/session"

// MoveNumber gives a person a new telephone number; their record goes with
// them. What they had begun on the old one cannot: its readings are sent to
// the new number, in the shorthand, so that they can be sent again.
func (t *Talk) MoveNumber(p session.Person, to session.Phone) session.Person {
	var left []session.Draft
	if p.Phone != "" && p.Phone != to {
		d, err := t.view.Dialogue(p.Phone)
		t.fail(err)
		left = d.Drafts
	}
	p.Phone = to
	theirs := t.Voice
	theirs.Language = theirs.languageOf(p)
	for _, draft := range left {
		if p.Stopped.IsZero() && !holdsNothing(&draft) {
			t.queue(to, t.showable(t.lastCopy(&theirs, &draft)), session.Reminding, "")
		}
	}
	t.Note("moved a person to a new number", p.ID)
	return t.Save(p)
}

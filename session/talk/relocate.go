package talk

import (
	"strings"
	"unicode"

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

// leastLocal is the fewest digits that are read as a telephone number of the
// region: fewer digits are a grower's short number. Source: assumed.
const leastLocal = 6

// ReadPhone reads a number with its country code, with + or 00 before it, or one
// that is written as in the programme's region.
func (m *Machine) ReadPhone(entry string) (session.Phone, bool) {
	digits := strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || r == '+' {
			return r
		}
		return -1
	}, entry)
	if rest, ok := strings.CutPrefix(digits, "00"); ok {
		digits = "+" + rest
	}
	body, plus := strings.CutPrefix(digits, "+")
	if len(digits) >= leastLocal && !plus && !strings.ContainsFunc(entry, unicode.IsLetter) {
		if m.Number == nil {
			return "", false
		}
		return m.Number(digits)
	}
	well := plus && len(body) >= 8 && len(body) <= 15 && !strings.Contains(body, "+") && body[0] != '0'
	return session.Phone(digits), well
}

// ReadPhone is Machine.ReadPhone.
func (t *Filing) ReadPhone(entry string) (session.Phone, bool) { return t.machine.ReadPhone(entry) }

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
	if p.Version == 0 { // it was never stored
		return true
	}
	of, err := t.view.ChecksOf(p.ID, 1)
	t.fail(err)
	by, err := t.view.ChecksBy(p.ID, 1)
	t.fail(err)
	return len(of) == 0 && len(by) == 0
}

package talk

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// Talk is one turn under way: what was read, what is to be written. Screens
// read it and change it; it lives for one Step.
type Talk struct {
	Voice
	In       session.Input
	Dialogue *session.Dialogue
	// Person is who talks to us; its ID is empty for somebody unknown.
	Person session.Person

	machine *Machine
	view    session.View
	writes  session.Writes
	people  map[session.PersonID]session.Person
	drawn   uint64
	reply   *session.Reply
	fault   error
	// forgotten says that the dialogue is to be removed.
	forgotten bool
	judged    map[session.Slip]programme.Judged
	judges    []*programme.Judge // what judged holds is theirs
	needs     []grading.Field    // see Needs
	// idle says that the dialogue rested longer than it can be resumed.
	idle bool
	// wasUSSD says that a network session was under way before this message.
	wasUSSD bool
	// understood says that some screen took the entry.
	understood bool
}

// open reads what every turn needs. The dialogue is the turn's own to change.
func (m *Machine) open(v session.View, in session.Input) (*Talk, error) {
	d, err := v.Dialogue(in.Phone)
	if err != nil {
		return nil, fmt.Errorf("talk: read the dialogue: %w", err)
	}
	d.Phone = in.Phone
	if d.Version == 0 {
		d.Current = -1
	}
	p, err := v.PersonByPhone(in.Phone)
	if err != nil && !errors.Is(err, session.ErrNotFound) {
		return nil, fmt.Errorf("talk: read the person: %w", err)
	}
	t := &Talk{Voice: Voice{Programme: m.Programme, Words: m.Words, Budget: in.Budget}, In: in, Dialogue: &d, machine: m, view: v}
	t.be(p)
	rested, patience := in.At.Sub(d.Last), m.Programme.ResumeWithin()
	if d.Memo.Asked {
		patience = max(patience, m.Programme.DraftWithin())
	}
	t.idle = d.Screen == "" || rested > patience
	t.wasUSSD = d.NetworkSession != ""
	if in.Kind == session.SMS {
		d.NetworkSession = ""
	}
	t.dropDrafts()
	return t, nil
}

// be makes the turn that of a person, and speaks their language, the one just
// chosen, or the programme's first.
func (t *Talk) be(p session.Person) {
	t.Person = p
	t.Language = t.languageOf(p)
	if chosen := t.Dialogue.Memo.Language; p.Language == "" && chosen != "" {
		t.Language = chosen
	}
}

// chosen tells whether the person has picked a language, or has none to pick.
func (t *Talk) chosen() bool {
	return t.Person.Language != "" || t.Dialogue.Memo.Language != "" || len(t.Programme.Languages) < 2
}

// ChooseLanguage keeps the language: with the person, or until they agree.
func (t *Talk) ChooseLanguage(lang session.Language) {
	if t.agreed() {
		p := t.Person
		p.Language = lang
		t.Save(p)
		return
	}
	t.Memo().Language = lang
	t.be(t.Person)
}

// agreed tells whether the person agreed to the consent text in force.
func (t *Talk) agreed() bool { return t.Agreed(t.Person) }

// Needs tells whether the programme's standard asks for a field. The standard
// is asked once a turn.
func (t *Talk) Needs(f grading.Field) bool {
	if t.needs == nil {
		t.needs = t.Programme.Standard.Needs()
	}
	return slices.Contains(t.needs, f)
}

// Memo is what the dialogue remembers, to be read and changed.
func (t *Talk) Memo() *session.Memo { return &t.Dialogue.Memo }

// lead keeps a line to be said before the screen; it stays over the pages of
// that screen and goes with the next entry.
func (t *Talk) lead(line string) {
	if line != "" {
		t.Memo().Lead = line
	}
}

// Random draws 64 bits from the turn's entropy, new ones at every call.
func (t *Talk) Random() uint64 {
	t.drawn++
	return t.In.Random(t.drawn)
}

// Save writes a person with the turn; a new one has no ID yet and gets one.
func (t *Talk) Save(p session.Person) session.Person {
	if p.ID == "" {
		p.ID, p.Joined = session.NewPersonID(t.Random()), t.In.At
	}
	if t.people == nil {
		t.people = map[session.PersonID]session.Person{}
	}
	t.people[p.ID] = p
	if p.ID == t.Person.ID || p.Phone == t.In.Phone && p.Phone != "" {
		t.be(p)
	}
	return p
}

// fail notes a fault of the store; the turn then gives no writes.
func (t *Talk) fail(err error) {
	if err != nil && t.fault == nil && !errors.Is(err, session.ErrNotFound) {
		t.fault = fmt.Errorf("talk: %w", err)
	}
}

// PersonOf is the person with an ID; the zero Person when there is none.
func (t *Talk) PersonOf(id session.PersonID) session.Person {
	if p, ok := t.people[id]; ok {
		return p
	}
	if id == "" {
		return session.Person{}
	}
	if id == t.Person.ID {
		return t.Person
	}
	p, err := t.view.Person(id)
	t.fail(err)
	return p
}

// PersonAt is who has a number; the zero Person when nobody has.
func (t *Talk) PersonAt(phone session.Phone) session.Person {
	p, err := t.view.PersonByPhone(phone)
	t.fail(err)
	return p
}

// Growers lists those that the person looks after, by short number, with what
// this turn has changed of them.
func (t *Talk) Growers(agent session.PersonID) []session.Person {
	stored, err := t.view.Growers(agent)
	t.fail(err)
	var all []session.Person
	for _, p := range stored {
		if changed, ok := t.people[p.ID]; ok {
			p = changed
		}
		if p.Agent == agent && !p.Forgotten {
			all = append(all, p)
		}
	}
	return all
}

// Check is a filed check; false when there is none such.
func (t *Talk) Check(slip session.Slip) (session.Check, bool) {
	for _, c := range t.writes.Checks {
		if c.Slip == slip {
			return c, true
		}
	}
	c, err := t.view.Check(slip)
	t.fail(err)
	return c, err == nil
}

// MyChecks lists what the person sent in, and what was sent in for them,
// newest first, at most n.
func (t *Talk) MyChecks(n int) []session.Check {
	by, err := t.view.ChecksBy(t.Person.ID, n)
	t.fail(err)
	of, err := t.view.ChecksOf(t.Person.ID, n)
	t.fail(err)
	all := slices.Concat(by, of)
	slices.SortStableFunc(all, func(a, b session.Check) int { return cmp.Or(b.At.Compare(a.At), cmp.Compare(a.Slip, b.Slip)) })
	all = slices.CompactFunc(all, func(a, b session.Check) bool { return a.Slip == b.Slip })
	return all[:min(n, len(all))]
}

func (t *Talk) screen() *Screen { return t.machine.Screens[t.Dialogue.Screen] }

// HelpKey is the wording key of the help on the screen before.
func (t *Talk) HelpKey() string {
	if trail := t.Dialogue.Trail; len(trail) > 0 {
		if s := t.machine.Screens[trail[len(trail)-1]]; s != nil && s.Help != nil {
			if key := s.Help(t); key != "" && t.Knows(key) {
				return key
			}
		}
	}
	return "help.general"
}

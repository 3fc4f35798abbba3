// Package talk turns one message into what to store and what to answer: it reads
// no clock and does no input or output, and has no screen of its own.
package talk

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// Filing is a turn without its dialogue: what is judged, filed and told of lots,
// by and to people.
type Filing struct {
	Telling

	machine *Machine
	judged  map[session.Slip]programme.Judged
	judges  []*programme.Judge // what judged holds is theirs
	needs   []grading.Field    // see Needs
}

func (m *Machine) filing(v session.View, in session.Input) Filing {
	return Filing{
		Telling: Telling{Voice{Programme: m.Programme, Words: m.Words, Budget: in.Budget}, Records{In: in, view: v}}, machine: m,
	}
}

// Talk is one turn under way: what was read, what is to be written. Screens
// read it and change it; it lives for one Step.
type Talk struct {
	Filing
	Notebook

	reply *session.Reply
	// forgotten says that the dialogue is to be removed.
	forgotten bool
	// idle says that the dialogue rested longer than it can be resumed.
	idle bool
	// wasUSSD says that a network session was under way before this message.
	wasUSSD bool
	// understood says that some screen took the entry.
	understood bool
	// Sure says that the person was asked about the entry and confirmed it.
	Sure bool
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
	t := &Talk{
		Filing: m.filing(v, in), Notebook: Notebook{Dialogue: &d, at: in.At},
	}
	t.be(p)
	t.idle = d.Screen == "" || in.At.Sub(d.Last) > t.patience()
	t.wasUSSD = d.NetworkSession != ""
	if in.Kind == session.SMS {
		d.NetworkSession = ""
	}
	t.dropDrafts()
	return t, nil
}

// patience is how long the dialogue may rest before it can no longer be
// continued.
func (t *Talk) patience() time.Duration {
	screen := t.screen()
	waits := screen != nil && screen.Waits != nil && t.In.Kind == session.SMS && screen.Waits(t, t.In.Text)
	if t.Memo().Asked || waits {
		return max(t.Programme.ResumeWithin(), t.Programme.DraftWithin())
	}
	return t.Programme.ResumeWithin()
}

// Late reports whether the dialogue has rested for longer than a dropped one is kept.
func (t *Talk) Late() bool { return t.In.At.Sub(t.Dialogue.Last) > t.Programme.ResumeWithin() }

// be makes the person the one this turn is for. It speaks their language, or
// the one just chosen, or the programme's first.
func (t *Talk) be(p session.Person) {
	t.Person = p
	t.Language = t.languageOf(p)
	if chosen := t.Dialogue.Memo.Language; p.Language == "" && chosen != "" {
		t.Language = chosen
	}
}

// chosen reports whether the person has picked a language, or has none to pick.
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

// agreed reports whether the person agreed to the consent text in force.
func (t *Filing) agreed() bool { return t.Programme.Agreed(&t.Person) }

// Needs reports whether the programme's standard asks for a field. The answer
// is worked out once a turn.
func (t *Filing) Needs(f grading.Field) bool {
	if t.needs == nil {
		t.needs = t.Programme.Standard.Needs()
	}
	return slices.Contains(t.needs, f)
}

// Save writes a person with the turn; a new one has no ID yet and gets one.
func (t *Talk) Save(p session.Person) session.Person {
	p = t.put(p)
	if p.ID == t.Person.ID || p.Phone == t.In.Phone && p.Phone != "" {
		t.be(p)
	}
	return p
}

// Shorthand is what the machine reads whole checks with; nil reads none.
func (t *Filing) Shorthand() Shorthand { return t.machine.Shorthand }

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

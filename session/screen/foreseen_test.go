package screen_test

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"threshline/session"
)

// foreseen is the world's store as a turn sees it through a database that has
// read along what was asked for: it notes every question that it would have to
// ask the database now.
type foreseen struct {
	*store
	phone  session.Phone
	me     session.Person
	known  map[string]bool
	listed map[string]int // of how many checks, by whose
	late   []string
}

// foresee reads along what the message and the turn before asked for.
func (s *store) foresee(phone session.Phone, asks []session.Ask, now time.Time) *foreseen {
	f := &foreseen{store: s, phone: phone, known: map[string]bool{}, listed: map[string]int{}}
	f.me, _ = s.PersonByPhone(phone)
	f.person(f.me.ID)
	rested := s.dialogues[phone].Version == 0 || now.After(s.rests[phone])
	for _, a := range append(asks, s.asks[phone]...) {
		if rested || !a.Anew {
			f.answer(a)
		}
	}
	return f
}

func (f *foreseen) know(what string, id any) { f.known[fmt.Sprint(what, " ", id)] = true }

func (f *foreseen) person(id session.PersonID) { f.know("person", id) }

// checks reads a list of checks along, and each of them.
func (f *foreseen) checks(whose string, n int, list []session.Check) {
	if len(list) < n {
		n = 1 << 30 // those are all
	}
	f.listed[whose] = max(f.listed[whose], n)
	for _, c := range list {
		f.know("check", c.Slip)
	}
}

func (f *foreseen) of(id session.PersonID, n int) {
	if n > 0 {
		list, _ := f.store.ChecksOf(id, n)
		f.checks("of "+string(id), n, list)
	}
}

func (f *foreseen) roster(agent session.PersonID) (all []session.Person) {
	f.know("growers", agent)
	all, _ = f.store.Growers(agent)
	for _, p := range all {
		f.person(p.ID)
	}
	return all
}

func (f *foreseen) answer(a session.Ask) {
	switch a.Kind {
	case session.AskCheck:
		f.know("check", a.ID)
		if c, err := f.store.Check(session.Slip(a.ID)); err == nil {
			f.person(c.Lot.Grower)
			f.person(c.Reporter)
			f.of(c.Lot.Grower, a.N)
		}
	case session.AskGrower:
		f.person(session.PersonID(a.ID))
		f.of(session.PersonID(a.ID), a.N)
	case session.AskOwn:
		f.of(f.me.ID, a.N)
		list, _ := f.store.ChecksBy(f.me.ID, a.N)
		f.checks("by "+string(f.me.ID), a.N, list)
		if len(list) > 0 && list[0].Lot.Grower != "" {
			f.of(list[0].Lot.Grower, a.N)
		}
	case session.AskRoster:
		f.roster(f.me.ID)
	case session.AskMember:
		all, _ := f.store.Growers(f.me.ID)
		for _, p := range all {
			if a.N > 0 && p.Short == a.N || a.ID != "" && strings.Contains(" "+session.PlainName(p.Name), " "+a.ID) {
				f.of(p.ID, session.MostOfMember)
			}
		}
	case session.AskCoordinators:
		f.know("coordinators", "")
		all, _ := f.store.Coordinators()
		for _, p := range all {
			f.person(p.ID)
		}
	case session.AskNamed:
		if a.ID == "" {
			a.ID = f.me.District
		}
		f.know("named", a.ID)
	case session.AskInvite:
		f.know("invite", a.ID)
		if i, err := f.store.Invite(a.ID); err == nil {
			f.person(i.Agent)
			f.person(i.Person)
			f.roster(i.Person)
			if p, err := f.store.Person(i.Person); err == nil {
				f.know("dialogue", string(p.Phone))
			}
		}
	case session.AskPhone:
		f.know("phone", a.ID)
		f.know("dialogue", a.ID)
		if p, err := f.store.PersonByPhone(session.Phone(a.ID)); err == nil {
			f.person(p.ID)
			f.roster(p.ID)
		}
	}
}

func (f *foreseen) ask(what string, id any) {
	if q := fmt.Sprint(what, " ", id); !f.known[q] {
		f.late = append(f.late, q)
	}
}

func (f *foreseen) Dialogue(p session.Phone) (session.Dialogue, error) {
	if p != f.phone {
		f.ask("dialogue", string(p))
	}
	return f.store.Dialogue(p)
}

func (f *foreseen) Person(id session.PersonID) (session.Person, error) {
	f.ask("person", id)
	return f.store.Person(id)
}

func (f *foreseen) PersonByPhone(p session.Phone) (session.Person, error) {
	if p != f.phone {
		f.ask("phone", string(p))
	}
	return f.store.PersonByPhone(p)
}

func (f *foreseen) Growers(agent session.PersonID) ([]session.Person, error) {
	if agent != "" {
		f.ask("growers", agent)
	}
	return f.store.Growers(agent)
}

func (f *foreseen) Coordinators() ([]session.Person, error) {
	f.ask("coordinators", "")
	return f.store.Coordinators()
}

func (f *foreseen) Named(district string) ([]session.Person, error) {
	f.ask("named", district)
	return f.store.Named(district)
}

func (f *foreseen) Check(slip session.Slip) (session.Check, error) {
	if slip != "" {
		f.ask("check", slip)
	}
	return f.store.Check(slip)
}

func (f *foreseen) list(whose string, n int) {
	if f.listed[whose] < n {
		f.late = append(f.late, fmt.Sprint("checks ", whose, ": ", n))
	}
}

func (f *foreseen) ChecksOf(id session.PersonID, n int) ([]session.Check, error) {
	f.list("of "+string(id), n)
	return f.store.ChecksOf(id, n)
}

func (f *foreseen) ChecksBy(id session.PersonID, n int) ([]session.Check, error) {
	f.list("by "+string(id), n)
	return f.store.ChecksBy(id, n)
}

func (f *foreseen) Invite(code string) (session.Invite, error) {
	f.ask("invite", code)
	return f.store.Invite(code)
}

// asked is the world's turn through such a database. It fails where a question
// comes late, where the world foresees, but for a slip that only a test's own
// record names.
func (w *world) asked(in session.Input) (session.Writes, error) {
	f := w.store.foresee(in.Phone, w.machine.Foresee(in.Text), in.At)
	out, err := w.machine.Step(f, in)
	late := slices.DeleteFunc(f.late, func(q string) bool {
		slip, check := strings.CutPrefix(q, "check ")
		return check && w.store.checks[session.Slip(slip)].Slip == ""
	})
	if err == nil && len(late) > 0 && w.foresees {
		err = fmt.Errorf("%q on screen %q asks late: %s", in.Text, w.store.dialogues[in.Phone].Screen, strings.Join(late, "; "))
	}
	return out, err
}

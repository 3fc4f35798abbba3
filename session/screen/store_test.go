package screen_test

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"threshline/session"
)

// store is the smallest view that a dialogue can run on: maps, one goroutine.
type store struct {
	dialogues map[session.Phone]session.Dialogue
	people    map[session.PersonID]session.Person
	checks    map[session.Slip]session.Check
	invites   map[string]session.Invite
	reminders map[session.ReminderID]session.Reminder
	asks      map[session.Phone][]session.Ask
	rests     map[session.Phone]time.Time
	outgoing  []session.Outgoing
	notes     []session.AuditNote
	position  uint64
}

func newStore() *store {
	return &store{
		dialogues: map[session.Phone]session.Dialogue{}, people: map[session.PersonID]session.Person{},
		checks: map[session.Slip]session.Check{}, invites: map[string]session.Invite{},
		reminders: map[session.ReminderID]session.Reminder{}, asks: map[session.Phone][]session.Ask{}, rests: map[session.Phone]time.Time{},
	}
}

func (s *store) Dialogue(p session.Phone) (session.Dialogue, error) {
	if d, ok := s.dialogues[p]; ok {
		return d.Clone(), nil
	}
	return session.Dialogue{Phone: p}, nil
}

func (s *store) Person(id session.PersonID) (session.Person, error) {
	if p, ok := s.people[id]; ok {
		return p, nil
	}
	return session.Person{}, session.ErrNotFound
}

func (s *store) PersonByPhone(phone session.Phone) (session.Person, error) {
	for _, p := range s.people {
		if p.Phone == phone && phone != "" {
			return p, nil
		}
	}
	return session.Person{}, session.ErrNotFound
}

func (s *store) Growers(agent session.PersonID) ([]session.Person, error) {
	var all []session.Person
	for _, p := range s.people {
		if p.Agent == agent && agent != "" {
			all = append(all, p)
		}
	}
	slices.SortFunc(all, func(a, b session.Person) int { return cmp.Compare(a.Short, b.Short) })
	return all, nil
}

func (s *store) Coordinators() (all []session.Person, err error) {
	for _, p := range s.people {
		if p.Role == session.Coordinator {
			all = append(all, p)
		}
	}
	slices.SortFunc(all, func(a, b session.Person) int { return cmp.Compare(a.ID, b.ID) })
	return all, nil
}

func (s *store) Named(district string) (all []session.Person, err error) {
	for _, p := range s.people {
		if in, ok := p.NamedIn(); ok && in == district {
			all = append(all, p)
		}
	}
	slices.SortFunc(all, func(a, b session.Person) int { return cmp.Compare(a.ID, b.ID) })
	return all, nil
}

func (s *store) Check(slip session.Slip) (session.Check, error) {
	if c, ok := s.checks[slip]; ok {
		return c, nil
	}
	return session.Check{}, session.ErrNotFound
}

func (s *store) list(n int, keep func(session.Check) bool) (all []session.Check, err error) {
	for _, c := range s.checks {
		if keep(c) {
			all = append(all, c)
		}
	}
	slices.SortFunc(all, func(a, b session.Check) int { return cmp.Or(b.At.Compare(a.At), cmp.Compare(a.Slip, b.Slip)) })
	return all[:min(n, len(all))], nil
}

func (s *store) ChecksOf(grower session.PersonID, n int) ([]session.Check, error) {
	return s.list(n, func(c session.Check) bool { return c.Lot.Grower == grower })
}

func (s *store) ChecksBy(reporter session.PersonID, n int) ([]session.Check, error) {
	return s.list(n, func(c session.Check) bool { return c.Reporter == reporter })
}

func (s *store) Looked(slip session.Slip) (list []session.Reminder, err error) {
	for _, id := range slices.Sorted(maps.Keys(s.reminders)) {
		if strings.HasPrefix(string(id), string(session.LookedID(slip, ""))) {
			list = append(list, s.reminders[id])
		}
	}
	return list, nil
}

func (s *store) Invite(code string) (session.Invite, error) {
	if i, ok := s.invites[code]; ok {
		return i, nil
	}
	return session.Invite{}, session.ErrNotFound
}

// taken reports whether a new record's key is another's.
func (s *store) taken(w session.Writes) bool {
	check := func(c session.Check) bool { return c.Version == 0 && s.checks[c.Slip].Version > 0 }
	person := func(p session.Person) bool { return p.Version == 0 && s.people[p.ID].Version > 0 }
	return slices.ContainsFunc(w.Checks, check) || slices.ContainsFunc(w.People, person)
}

// apply does what an engine does with a turn's writes. It complains about
// versions that are not the ones read. It changes no map, so that copies of a
// store can share them: what is written to is copied first.
func (s *store) apply(phone session.Phone, w session.Writes) error {
	if w.Asks != nil {
		s.asks = maps.Clone(s.asks)
		s.asks[phone] = w.Asks
		s.rests = maps.Clone(s.rests)
		s.rests[phone] = w.Rests
	}
	if d := w.Dialogue; d != nil {
		if was := s.dialogues[phone].Version; was != d.Version {
			return fmt.Errorf("dialogue version %d written over %d", d.Version, was)
		}
		next := *d
		next.Version++
		s.dialogues = maps.Clone(s.dialogues)
		if d.Empty() {
			delete(s.dialogues, phone)
		} else {
			s.dialogues[phone] = next
		}
	}
	if len(w.People) > 0 {
		s.people = maps.Clone(s.people)
	}
	for _, p := range w.People {
		if was := s.people[p.ID].Version; was != p.Version {
			return fmt.Errorf("person version %d written over %d", p.Version, was)
		}
		p.Version++
		s.people[p.ID] = p
	}
	if len(w.Checks) > 0 {
		s.checks = maps.Clone(s.checks)
	}
	for _, c := range w.Checks {
		if was := s.checks[c.Slip].Version; was != c.Version {
			return fmt.Errorf("check version %d written over %d", c.Version, was)
		}
		c.Version++
		s.position++
		c.Position = s.position
		s.checks[c.Slip] = c
	}
	if len(w.Invites) > 0 {
		s.invites = maps.Clone(s.invites)
	}
	for _, i := range w.Invites {
		i.Version++
		s.invites[i.Code] = i
	}
	if len(w.Reminders) > 0 {
		s.reminders = maps.Clone(s.reminders)
	}
	for _, r := range w.Reminders {
		if r.Cancel {
			delete(s.reminders, r.ID)
			continue
		}
		s.reminders[r.ID] = r
	}
	s.outgoing = append(s.outgoing, w.Outgoing...)
	s.notes = append(s.notes, w.Notes...)
	return nil
}

// due takes what is due of whoever has the earliest, if anybody.
func (s *store) due(now time.Time) (theirs []session.Reminder) {
	var all []session.Reminder
	for _, r := range s.reminders {
		if !r.Due.After(now) {
			all = append(all, r)
		}
	}
	slices.SortFunc(all, func(a, b session.Reminder) int { return cmp.Or(a.Due.Compare(b.Due), cmp.Compare(a.ID, b.ID)) })
	for _, r := range all {
		if r.Person == all[0].Person && r.Phone == all[0].Phone {
			theirs = append(theirs, r)
			delete(s.reminders, r.ID)
		}
	}
	return theirs
}

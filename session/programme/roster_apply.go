package programme

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"time"

	"threshline/session"
)

// MostShort is the highest number that an agent has for a grower.
const MostShort = 99

// RosterChange counts what a roster would change, or has changed.
type RosterChange struct{ Added, Changed, Same int }

// RosterTurn brings people into the store as a roster lists them: all of them
// or none. A row is a known person when the number is known, or, without a
// number, when the agent has a grower of that short number or name. What a row
// leaves empty stays as it is. Errors join RosterFaults. New people are asked
// for their consent when they first call, or through their agent before their
// first check is filed.
func RosterTurn(rows []RosterRow, at time.Time, who string, random func() uint64, change *RosterChange) session.Turn {
	return func(v session.View) (session.Writes, error) {
		m := rosterMerge{view: v, at: at, random: random, byPhone: map[session.Phone]*session.Person{}, growers: map[session.PersonID][]*session.Person{}}
		*change = RosterChange{}
		for pass := range 2 { // agents first: growers refer to them
			for _, row := range rows {
				if (row.Role == session.Grower) == (pass == 1) {
					m.take(row)
				}
			}
		}
		if err := errors.Join(m.faults...); err != nil {
			return session.Writes{}, err
		}
		*change = m.change
		w := session.Writes{People: m.out()}
		if len(w.People) > 0 {
			w.Notes = []session.AuditNote{{At: at, Who: who, Did: fmt.Sprintf("imported a roster: %d added, %d changed", m.change.Added, m.change.Changed)}}
		}
		return w, nil
	}
}

// rosterMerge is a roster on its way into what is stored.
type rosterMerge struct {
	view    session.View
	at      time.Time
	random  func() uint64
	byPhone map[session.Phone]*session.Person
	growers map[session.PersonID][]*session.Person // by agent, stored and new
	touched []*session.Person
	faults  []error
	change  RosterChange
}

func (m *rosterMerge) wrong(row RosterRow, column, format string, args ...any) {
	m.faults = append(m.faults, RosterFault{row.Line, column, fmt.Sprintf(format, args...)})
}

// known finds the person of a number; nil when there is none.
func (m *rosterMerge) known(phone session.Phone) *session.Person {
	if p, ok := m.byPhone[phone]; ok {
		return p
	}
	p, err := m.view.PersonByPhone(phone)
	if err != nil {
		if !errors.Is(err, session.ErrNotFound) {
			m.faults = append(m.faults, err)
		}
		m.byPhone[phone] = nil
		return nil
	}
	m.byPhone[phone] = &p
	return &p
}

// flock lists an agent's growers, those of this roster among them.
func (m *rosterMerge) flock(agent session.PersonID) []*session.Person {
	if list, ok := m.growers[agent]; ok {
		return list
	}
	stored, err := m.view.Growers(agent)
	if err != nil {
		m.faults = append(m.faults, err)
	}
	list := make([]*session.Person, 0, len(stored))
	for _, p := range stored {
		if same := m.byPhone[p.Phone]; same != nil && p.Phone != "" {
			list = append(list, same)
			continue
		}
		list = append(list, &p)
		if p.Phone != "" {
			m.byPhone[p.Phone] = &p
		}
	}
	m.growers[agent] = list
	return list
}

func (m *rosterMerge) take(row RosterRow) {
	var agent *session.Person
	if row.Agent != "" {
		if agent = m.known(row.Agent); agent == nil || agent.Role != session.Agent {
			m.wrong(row, "agent", "no agent has that number, neither here nor among those known")
			return
		}
	}
	p := m.match(row, agent)
	if p == nil {
		p = &session.Person{ID: session.NewPersonID(m.random()), Joined: m.at}
		m.change.Added++
		m.fill(p, row, agent)
		m.touched = append(m.touched, p)
		return
	}
	if row.Role != p.Role && p.Role != session.Grower {
		m.wrong(row, "role", "is %s, but that number is known as %s", row.Role, p.Role)
		return
	}
	before := *p
	m.fill(p, row, agent)
	if samePerson(before, *p) {
		m.change.Same++
		return
	}
	m.change.Changed++
	m.touched = append(m.touched, p)
}

// match finds who a row is about among those known; nil for somebody new.
func (m *rosterMerge) match(row RosterRow, agent *session.Person) *session.Person {
	if row.Phone != "" {
		if p := m.known(row.Phone); p != nil {
			return p
		}
	}
	if agent == nil {
		return nil
	}
	for _, p := range m.flock(agent.ID) {
		if row.Short > 0 && p.Short == row.Short || row.Short == 0 && row.Phone == "" && p.Name == row.Name {
			if row.Short > 0 && row.Phone != "" && p.Phone != "" && p.Phone != row.Phone {
				m.wrong(row, "short", "the agent has another grower as %d", row.Short)
			}
			return p
		}
	}
	return nil
}

// fill writes a row into a person; what the row leaves empty stays.
func (m *rosterMerge) fill(p *session.Person, row RosterRow, agent *session.Person) {
	set := func(to *string, value string) {
		if value != "" {
			*to = value
		}
	}
	p.Role = row.Role
	set(&p.Name, row.Name)
	set(&p.District, row.District)
	set(&p.Village, row.Village)
	set(&p.Kit.Meter, row.Meter)
	if row.Language != "" {
		p.Language = row.Language
	}
	if row.Phone != "" {
		p.Phone = row.Phone
		m.byPhone[row.Phone] = p
	}
	if agent == nil {
		return
	}
	flock := m.flock(agent.ID)
	isNew := p.Agent != agent.ID
	if isNew {
		p.Agent, p.Short = agent.ID, 0
	}
	if row.Short > 0 {
		p.Short = row.Short
	}
	if p.Short == 0 {
		p.Short = FreeShort(shortsOf(flock))
	}
	if p.Short == 0 {
		m.wrong(row, "agent", "has %d growers already, no short number is free", MostShort)
	}
	p.District = cmp.Or(p.District, agent.District)
	for _, other := range flock {
		if other != p && other.Short == p.Short {
			m.wrong(row, "short", "the agent has another grower as %d", p.Short)
		}
	}
	if isNew {
		m.growers[agent.ID] = append(flock, p)
	}
}

// FreeShort is the lowest short number that is not among those taken; 0 when
// none is left.
func FreeShort(taken []int) int {
	for n := 1; n <= MostShort; n++ {
		if !slices.Contains(taken, n) {
			return n
		}
	}
	return 0
}

func shortsOf(flock []*session.Person) (taken []int) {
	for _, p := range flock {
		taken = append(taken, p.Short)
	}
	return taken
}

func samePerson(a, b session.Person) bool {
	return a.Phone == b.Phone && a.Role == b.Role && a.Name == b.Name && a.District == b.District && a.Village == b.Village &&
		a.Language == b.Language && a.Agent == b.Agent && a.Short == b.Short && a.Kit.Meter == b.Kit.Meter
}

func (m *rosterMerge) out() (people []session.Person) {
	seen := map[session.PersonID]bool{}
	for _, p := range m.touched {
		if !seen[p.ID] {
			seen[p.ID] = true
			people = append(people, *p)
		}
	}
	return people
}

package session

import (
	"errors"
	"fmt"
	"time"
)

// Release is the turn that lets a person's name and number go, when nothing
// was heard of them for as long as the programme keeps people: no message, no
// check by or of them. Their checks stay, without them. The exchange's key
// names the person's phone. Kept all the same are an agent who still looks
// after somebody, and the bare number of somebody who texted STOP without ever
// having agreed: without it they could not be left in peace. It tells in
// released whether the person was let go. Errors are faults of the store.
func (m *Machine) Release(id PersonID, now time.Time, released *bool) Turn {
	return func(v View) (Writes, error) {
		*released = false
		silent := Writes{Reply: Reply{Silent: true}}
		p, err := v.Person(id)
		if errors.Is(err, ErrNotFound) || err == nil && m.kept(p, now) {
			return silent, nil
		}
		if err != nil {
			return Writes{}, fmt.Errorf("session: read the person: %w", err)
		}
		d, heard, err := lastHeard(v, p)
		if err != nil || now.Sub(heard) < m.Programme.KeepPeopleFor {
			return silent, err
		}
		growers, err := v.Growers(id)
		if err != nil {
			return Writes{}, fmt.Errorf("session: list growers: %w", err)
		}
		for _, g := range growers {
			if !g.Forgotten {
				return silent, nil
			}
		}
		*released = true
		silent.People = []Person{p.forgotten()}
		if d.Version > 0 {
			silent.Dialogue = &Dialogue{Phone: p.Phone, Version: d.Version, Current: -1}
		}
		silent.Remindings = noReminders(id)
		silent.Notes = []AuditNote{{At: now, Who: "the programme's setting", Did: "let go a person not heard of", Subject: string(id)}}
		return silent, nil
	}
}

// MayRelease tells, from the record alone, whether a person could be old
// enough to be let go: a cheap look before Release.
func (m *Machine) MayRelease(p Person, now time.Time) bool { return !m.kept(p, now) }

func (m *Machine) kept(p Person, now time.Time) bool {
	keep := m.Programme.KeepPeopleFor
	bare := !p.Stopped.IsZero() && p.Consent.Version == 0
	return keep <= 0 || p.Forgotten || bare || now.Sub(p.Joined) < keep || now.Sub(p.Consent.At) < keep
}

// lastHeard is when anything last came from or about a person, and their
// dialogue.
func lastHeard(v View, p Person) (d Dialogue, last time.Time, err error) {
	last = p.Joined
	if p.Phone != "" {
		if d, err = v.Dialogue(p.Phone); err != nil {
			return d, last, fmt.Errorf("session: read the dialogue: %w", err)
		}
		last = later(last, d.Last)
	}
	by, err := v.ChecksBy(p.ID, 1)
	if err != nil {
		return d, last, fmt.Errorf("session: list checks: %w", err)
	}
	of, err := v.ChecksOf(p.ID, 1)
	if err != nil {
		return d, last, fmt.Errorf("session: list checks: %w", err)
	}
	for _, c := range append(by, of...) {
		last = later(last, c.At)
	}
	return d, last, nil
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

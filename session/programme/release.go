package programme

import (
	"errors"
	"fmt"
	"time"

	"threshline/session"
)

// Release is the turn that forgets a person's name and number, if nothing was heard of
// them for as long as the programme keeps people: no message, and no check by or of
// them. Their checks stay, without the name. The exchange's key names the person's
// phone. An agent who still looks after somebody is kept, and so is the bare number of
// somebody who texted STOP and never agreed: without it we could not leave them in
// peace. released says whether the person was forgotten. Errors are faults of the
// store.
func (p *Programme) Release(id session.PersonID, now time.Time, released *bool) session.Turn {
	return func(v session.View) (session.Writes, error) {
		*released = false
		silent := session.Writes{Reply: session.Reply{Silent: true}}
		who, err := v.Person(id)
		if errors.Is(err, session.ErrNotFound) || err == nil && p.kept(&who, now) {
			return silent, nil
		}
		if err != nil {
			return session.Writes{}, fmt.Errorf("programme: read the person: %w", err)
		}
		d, heard, err := lastHeard(v, &who)
		if err != nil || now.Sub(heard) < p.KeepPeopleFor {
			return silent, err
		}
		growers, err := v.Growers(id)
		if err != nil {
			return session.Writes{}, fmt.Errorf("programme: list growers: %w", err)
		}
		for _, g := range growers {
			if !g.Forgotten {
				return silent, nil
			}
		}
		*released = true
		trace := who.Trace()
		trace.Now = now
		silent.People, silent.Forget = []session.Person{who.Anonymous()}, []session.Trace{trace}
		if d.Version > 0 {
			silent.Dialogue = &session.Dialogue{Phone: who.Phone, Version: d.Version, Current: -1}
		}
		silent.Reminders = session.NoReminders(id)
		silent.Notes = []session.AuditNote{{At: now, Who: "the programme's setting", Did: "let go a person not heard of", Subject: string(id)}}
		return silent, nil
	}
}

// MayRelease reports, from the record alone, whether the person may be due to be
// forgotten: a cheap look before Release.
func (p *Programme) MayRelease(who session.Person, now time.Time) bool { return !p.kept(&who, now) }

func (p *Programme) kept(who *session.Person, now time.Time) bool {
	keep := p.KeepPeopleFor
	bare := !who.Stopped.IsZero() && who.Consent.Version == 0
	return keep <= 0 || who.Forgotten || bare || now.Sub(who.Joined) < keep || now.Sub(who.Consent.At) < keep
}

// lastHeard is when anything last came from or about a person, and their
// dialogue.
func lastHeard(v session.View, p *session.Person) (d session.Dialogue, last time.Time, err error) {
	last = p.Joined
	if p.Phone != "" {
		if d, err = v.Dialogue(p.Phone); err != nil {
			return d, last, fmt.Errorf("programme: read the dialogue: %w", err)
		}
		last = later(last, d.Last)
	}
	by, err := v.ChecksBy(p.ID, 1)
	if err != nil {
		return d, last, fmt.Errorf("programme: list checks: %w", err)
	}
	of, err := v.ChecksOf(p.ID, 1)
	if err != nil {
		return d, last, fmt.Errorf("programme: list checks: %w", err)
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

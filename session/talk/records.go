package talk

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"threshline/advice"
	"threshline/session"
	"threshline/session/programme"
)

// Records are what a turn reads of the store, and what it has written so far.
type Records struct {
	In session.Input
	// Person is who talks to us; its ID is empty for somebody unknown.
	Person session.Person

	view   session.View
	writes session.Writes
	people map[session.PersonID]session.Person
	newest checksOf // that were read last
	drawn  uint64
	fault  error
}

// fail notes a fault of the store; the turn then makes no writes.
func (r *Records) fail(err error) {
	if err != nil && r.fault == nil && !errors.Is(err, session.ErrNotFound) {
		r.fault = fmt.Errorf("talk: %w", err)
	}
}

// PersonOf is the person with an ID; the zero Person when there is none.
func (r *Records) PersonOf(id session.PersonID) session.Person {
	if p, ok := r.people[id]; ok {
		return p
	}
	if id == "" {
		return session.Person{}
	}
	if id == r.Person.ID {
		return r.Person
	}
	p, err := r.view.Person(id)
	r.fail(err)
	return p
}

// PersonAt is who has a number; the zero Person when nobody has.
func (r *Records) PersonAt(phone session.Phone) session.Person {
	p, err := r.view.PersonByPhone(phone)
	r.fail(err)
	return p
}

// Growers lists the person's growers by short number, with those that this turn
// has added or changed.
func (r *Records) Growers(agent session.PersonID) []session.Person {
	stored, err := r.view.Growers(agent)
	r.fail(err)
	var all []session.Person
	for _, p := range stored {
		if changed, ok := r.people[p.ID]; ok {
			p = changed
		}
		if p.Agent == agent && !p.Forgotten {
			all = append(all, p)
		}
	}
	for id, p := range r.people { // who is new in this turn
		known := slices.ContainsFunc(stored, func(old session.Person) bool { return old.ID == id })
		if p.Agent == agent && !p.Forgotten && !known {
			all = append(all, p)
		}
	}
	slices.SortStableFunc(all, func(a, b session.Person) int { return cmp.Or(a.Short-b.Short, cmp.Compare(a.ID, b.ID)) })
	return all
}

// Check returns a filed check; false when there is no such check.
func (r *Records) Check(slip session.Slip) (session.Check, bool) {
	if slip == "" { // no check has it
		return session.Check{}, false
	}
	for _, c := range r.writes.Checks {
		if c.Slip == slip {
			return c, true
		}
	}
	c, err := r.view.Check(slip)
	r.fail(err)
	return c, err == nil
}

// MyChecks lists what the person sent in, and what was sent in for them,
// newest first, at most n.
func (r *Records) MyChecks(n int) []session.Check {
	by, err := r.view.ChecksBy(r.Person.ID, n)
	r.fail(err)
	of, err := r.view.ChecksOf(r.Person.ID, n)
	r.fail(err)
	all := slices.Concat(by, of)
	slices.SortStableFunc(all, func(a, b session.Check) int { return cmp.Or(b.At.Compare(a.At), cmp.Compare(a.Slip, b.Slip)) })
	all = slices.CompactFunc(all, func(a, b session.Check) bool { return a.Slip == b.Slip })
	return all[:min(n, len(all))]
}

// checksOf are the newest checks of a grower, at most so many as were asked for.
type checksOf struct {
	grower session.PersonID
	asked  int
	list   []session.Check
}

// checksOf lists a grower's stored checks, newest first, at most n. A turn asks for the
// same ones several times, and they are read once: nobody may change them.
func (r *Records) checksOf(grower session.PersonID, n int) []session.Check {
	if k := &r.newest; k.grower != grower || n > k.asked && len(k.list) == k.asked {
		list, err := r.view.ChecksOf(grower, n)
		r.fail(err)
		*k = checksOf{grower, n, list}
	}
	return r.newest.list[:min(n, len(r.newest.list))]
}

// past returns what the last checks of the grower's other lots found before a
// time, newest first.
func (r *Records) past(grower session.PersonID, before time.Time, own []session.Slip) (past []advice.Past) {
	if grower == "" {
		return nil
	}
	for _, n := range [...]int{programme.MostPast, 3 * programme.MostPast} { // more only when some do not count
		checks := r.checksOf(grower, n)
		past = programme.Past(checks, before, own...)
		if len(past) == programme.MostPast || len(checks) < n {
			break
		}
	}
	return past
}

// Unsound returns the sample that is counted in a pooled check although it no
// longer stands.
func (r *Records) Unsound(c session.Check) (changed session.Slip, unsound bool) {
	return programme.Unsound(c, r.Check)
}

// before is the check that a re-check names, or what replaced it since.
func (r *Records) before(slip session.Slip) (session.Check, bool) {
	return programme.Latest(slip, r.Check)
}

// Random draws 64 bits from the turn's entropy, new ones at every call.
func (r *Records) Random() uint64 {
	r.drawn++
	return r.In.Random(r.drawn)
}

// freeSlip draws a slip that this turn has not given. An engine that finds a filed
// check with it runs the turn again, with other random bits.
func (r *Records) freeSlip() session.Slip {
	for {
		s := session.NewSlip(r.Random())
		if !slices.ContainsFunc(r.writes.Checks, func(c session.Check) bool { return c.Slip == s }) {
			return s
		}
	}
}

// SaveCheck writes a check with the turn.
func (r *Records) SaveCheck(c session.Check) {
	for i := range r.writes.Checks {
		if r.writes.Checks[i].Slip == c.Slip {
			r.writes.Checks[i] = c
			return
		}
	}
	r.writes.Checks = append(r.writes.Checks, c)
}

// Concerns reports whether a check is the person's to go on with: they measured
// it, it is their lot or their grower's, or they coordinate its district.
func (r *Records) Concerns(c session.Check) bool {
	me := r.Person.ID
	if me == "" {
		return false
	}
	return c.Reporter == me || c.Lot.Grower == me || r.PersonOf(c.Lot.Grower).Agent == me || r.Person.Coordinates(c.Lot.District)
}

// put writes a person with the turn; a new one has no ID yet and gets one.
func (r *Records) put(p session.Person) session.Person {
	if p.ID == "" {
		p.ID, p.Joined = r.freePersonID(), r.In.At
	}
	if r.people == nil {
		r.people = map[session.PersonID]session.Person{}
	}
	r.people[p.ID] = p
	return p
}

// freePersonID draws an ID as freeSlip draws a slip.
func (r *Records) freePersonID() session.PersonID {
	for {
		id := session.NewPersonID(r.Random())
		if _, given := r.people[id]; !given && id != r.Person.ID {
			return id
		}
	}
}

// Note records who did what to somebody's data.
func (r *Records) Note(did string, subject session.PersonID) {
	who := string(r.Person.Role) + " " + string(r.Person.ID)
	r.writes.Notes = append(r.writes.Notes, session.AuditNote{At: r.In.At, Who: who, Did: did, Subject: string(subject)})
}

// forget makes the engine find and remove everything by which a person can be
// found.
func (r *Records) forget(what session.Trace) {
	what.Now = r.In.At
	r.writes.Forget = append(r.writes.Forget, what)
}

// inviteFor is how long an invitation code is good. Source: assumed.
const inviteFor = 7 * 24 * time.Hour

// Invite makes a code that lets somebody join in a role.
func (r *Records) Invite(role session.Role) session.Invite {
	i := session.Invite{
		Code: session.NewInviteCode(r.Random()), Role: role, District: r.Person.District,
		Agent: r.Person.ID, Expires: r.In.At.Add(inviteFor),
	}
	r.writes.Invites = append(r.writes.Invites, i)
	return i
}

// queue lays a message out to be sent.
func (r *Records) queue(to session.Phone, text string, purpose session.Purpose, slip session.Slip) {
	r.writes.Outgoing = append(r.writes.Outgoing, session.Outgoing{
		ID: session.NewOutgoingID(r.Random()), To: to, Text: text, Purpose: purpose, Slip: slip,
		Created: r.In.At, Due: r.In.At, Expires: r.In.At.Add(remindStale), State: session.Queued, Changed: r.In.At,
	})
}

// remind sets or takes back reminders.
func (r *Records) remind(what ...session.Reminder) {
	r.writes.Reminders = append(r.writes.Reminders, what...)
}

// remindMe sets a reminder of the person.
func (r *Records) remindMe(id session.ReminderID, kind string, due time.Time, about session.Slip) {
	r.remind(session.Reminder{ID: id, Due: due, Kind: kind, Person: r.Person.ID, Phone: r.In.Phone, Slip: about})
}

// cancel takes a reminder back.
func (r *Records) cancel(id session.ReminderID) { r.remind(session.Reminder{ID: id, Cancel: true}) }

// done is all that the turn has written of people, checks and messages.
func (r *Records) done() session.Writes {
	w := r.writes
	for _, id := range slices.Sorted(maps.Keys(r.people)) {
		w.People = append(w.People, r.people[id])
	}
	return w
}

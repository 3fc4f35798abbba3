package mem

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"github.com/google/btree"

	"threshline/session"
)

// state is everything that is kept. Records are found by key in ordered trees
// that can be cloned at no cost: a clone is a snapshot. A value in a tree is
// never changed, only replaced.
type state struct {
	dialogues  *btree.BTreeG[session.Dialogue]
	people     *btree.BTreeG[session.Person]
	phones     *btree.BTreeG[phoneEntry]
	growers    *btree.BTreeG[growerEntry]
	named      *btree.BTreeG[namedEntry]
	heads      *btree.BTreeG[session.PersonID] // the coordinators
	checks     *btree.BTreeG[session.Check]    // by slip
	ofGrower   *btree.BTreeG[filedEntry]
	byReporter *btree.BTreeG[filedEntry]
	invites    *btree.BTreeG[session.Invite]
	duplicates *btree.BTreeG[duplicate]
	accounts   *btree.BTreeG[session.Account]
	reminders  *btree.BTreeG[session.Reminder]
}

// phoneEntry finds a person by phone.
type phoneEntry struct {
	phone session.Phone
	id    session.PersonID
}

// growerEntry places a grower among an agent's.
type growerEntry struct {
	agent session.PersonID
	short int
	id    session.PersonID
}

// namedEntry places an agent among those who are named in a district.
type namedEntry struct {
	district string
	id       session.PersonID
}

// filedEntry places a check among a person's, by the time it was filed.
type filedEntry struct {
	person session.PersonID
	at     time.Time
	slip   session.Slip
}

// duplicate is the reply to a message that may be delivered again.
type duplicate struct {
	key   string
	phone session.Phone
	until time.Time
	reply session.Reply
}

// degree is the trees' branching: few large records a node, since a snapshot costs the
// next write a copy of each node on its way.
const degree = 4

func newState() state {
	return state{
		dialogues: byKey(func(d session.Dialogue) string { return string(d.Phone) }),
		people:    byKey(func(p session.Person) string { return string(p.ID) }),
		phones:    byKey(func(e phoneEntry) string { return string(e.phone) }),
		growers: btree.NewG(degree, func(a, b growerEntry) bool {
			return cmp.Or(cmp.Compare(a.agent, b.agent), cmp.Compare(a.short, b.short), cmp.Compare(a.id, b.id)) < 0
		}),
		named: btree.NewG(degree, func(a, b namedEntry) bool {
			return cmp.Or(cmp.Compare(a.district, b.district), cmp.Compare(a.id, b.id)) < 0
		}),
		heads:      byKey(func(id session.PersonID) string { return string(id) }),
		checks:     byKey(func(k session.Check) string { return string(k.Slip) }),
		ofGrower:   btree.NewG(degree, lessFiled),
		byReporter: btree.NewG(degree, lessFiled),
		invites:    byKey(func(i session.Invite) string { return i.Code }),
		duplicates: byKey(func(d duplicate) string { return d.key }),
		accounts:   byKey(func(a session.Account) string { return string(a.ID) }),
		reminders:  byKey(func(r session.Reminder) string { return string(r.ID) }),
	}
}

func byKey[T any](key func(T) string) *btree.BTreeG[T] {
	return btree.NewG(degree, func(a, b T) bool { return key(a) < key(b) })
}

func lessFiled(a, b filedEntry) bool {
	return cmp.Or(cmp.Compare(a.person, b.person), a.at.Compare(b.at), cmp.Compare(a.slip, b.slip)) < 0
}

// snapshot is a clone that later changes do not reach.
func (s *state) snapshot() state {
	return state{
		dialogues: s.dialogues.Clone(), people: s.people.Clone(), phones: s.phones.Clone(), growers: s.growers.Clone(), named: s.named.Clone(), heads: s.heads.Clone(),
		checks: s.checks.Clone(), ofGrower: s.ofGrower.Clone(), byReporter: s.byReporter.Clone(),
		invites: s.invites.Clone(), duplicates: s.duplicates.Clone(),
		accounts: s.accounts.Clone(), reminders: s.reminders.Clone(),
	}
}

// The functions below copy a record so that nothing is shared: what a turn
// does to what it read, or keeps of what it wrote, changes nothing here.

func cloneAccount(a session.Account) session.Account {
	a.Districts, a.Scopes, a.Recovery = slices.Clone(a.Districts), slices.Clone(a.Scopes), slices.Clone(a.Recovery)
	return a
}

func clonePerson(p session.Person) session.Person {
	p.Kit.Lacks = slices.Clone(p.Kit.Lacks)
	return p
}

func cloneCheck(k session.Check) session.Check {
	k.Readings = k.Readings.Clone()
	k.Sample = k.Sample.Clone()
	k.Paces = maps.Clone(k.Paces)
	k.Deciding = slices.Clone(k.Deciding)
	k.Missing = slices.Clone(k.Missing)
	k.Gates = slices.Clone(k.Gates)
	k.Values = maps.Clone(k.Values)
	k.Held = slices.Clone(k.Held)
	k.Cleared = slices.Clone(k.Cleared)
	for i := range k.Cleared {
		k.Cleared[i].Flags = slices.Clone(k.Cleared[i].Flags)
	}
	return k
}

package mem

import (
	"maps"
	"slices"

	"threshline/session"
)

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

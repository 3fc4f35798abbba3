package mem

import (
	"maps"
	"slices"

	"threshline/session"
)

// The functions below copy a record so that nothing is shared: what a turn
// does to what it read, or keeps of what it wrote, changes nothing here.

func cloneDialogue(d session.Dialogue) session.Dialogue {
	d.Trail = slices.Clone(d.Trail)
	d.Drafts = slices.Clone(d.Drafts)
	for i := range d.Drafts {
		draft := &d.Drafts[i]
		draft.Readings = draft.Readings.Clone()
		draft.Paces = maps.Clone(draft.Paces)
		draft.Skipped = slices.Clone(draft.Skipped)
		draft.Sure = slices.Clone(draft.Sure)
	}
	d.Memo = maps.Clone(d.Memo)
	d.Recent = slices.Clone(d.Recent)
	return d
}

func cloneAccount(a session.Account) session.Account {
	a.Districts, a.Scopes = slices.Clone(a.Districts), slices.Clone(a.Scopes)
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
	return k
}

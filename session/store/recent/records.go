package recent

import (
	"cmp"
	"slices"

	"threshline/session"
)

// mostPeople and mostChecks bound what is held, some 25 MB at most.
const (
	mostPeople = 8192
	mostChecks = 16384
)

// Records are what the dialogue of a phone reads again and again: whose it is, and a
// grower's newest checks.
//
// Reading is for all goroutines; nil Records hold nothing. Who writes says so in this order, and is alone with
// it: Begin; WritePerson, WriteCheck and WriteAny before the snapshot is made; Filed
// for the checks of WriteCheck; Committed when the snapshot can be read.
type Records struct {
	people Shelf[session.Person] // by phone
	checks Shelf[newest]         // by grower
	// changed are the newest checks, as they will be, of growers with one in the write
	// under way; nil where that is not known.
	changed map[session.PersonID]*newest
}

// newest are a grower's newest checks, at most so many as were asked for.
type newest struct {
	asked int
	list  []session.Check
}

// NewRecords holds nothing.
func NewRecords() *Records {
	return &Records{
		people: Shelf[session.Person]{Most: mostPeople}, checks: Shelf[newest]{Most: mostChecks},
		changed: map[session.PersonID]*newest{},
	}
}

// Person is who has a phone in a snapshot, which read says where it is not known. It
// shares nothing with what is held.
func (r *Records) Person(phone session.Phone, snapshot uint64, read func() (session.Person, error)) (session.Person, error) {
	if r == nil {
		return read()
	}
	p, ok := r.people.Get(string(phone), snapshot)
	if !ok {
		var err error
		if p, err = read(); err != nil {
			return p, err
		}
		r.people.Put(string(phone), snapshot, p, 1)
	}
	p.Kit.Lacks = slices.Clone(p.Kit.Lacks)
	return p, nil
}

// Newest are a grower's newest checks in a snapshot, at most n, which read lists where
// they are not known. Nobody may change what is in the list.
func (r *Records) Newest(grower session.PersonID, n int, snapshot uint64, read func() ([]session.Check, error)) ([]session.Check, error) {
	if r == nil {
		return read()
	}
	k, ok := r.checks.Get(string(grower), snapshot)
	if !ok || n > k.asked && len(k.list) == k.asked {
		list, err := read()
		if err != nil {
			return nil, err
		}
		k = newest{n, list}
		r.hold(grower, snapshot, &k)
	}
	return slices.Clip(k.list[:max(0, min(n, len(k.list)))]), nil
}

func (r *Records) hold(grower session.PersonID, snapshot uint64, k *newest) {
	r.checks.Put(string(grower), snapshot, *k, 1+len(k.list))
}

// Begin begins a write; one that was not committed is over.
func (r *Records) Begin() { clear(r.changed) }

// WriteAny says that the write may change anything.
func (r *Records) WriteAny(snapshot uint64) {
	r.people.WrittenAll(snapshot)
	r.checks.WrittenAll(snapshot)
	for grower := range r.changed {
		r.changed[grower] = nil
	}
}

// WritePerson says that the write changes a person; before is nil for a new one.
func (r *Records) WritePerson(before, p *session.Person, snapshot uint64) {
	r.people.Written(string(p.Phone), snapshot)
	if before != nil {
		r.people.Written(string(before.Phone), snapshot)
	}
}

// WriteCheck says that the write changes a check; before is nil for a new one.
func (r *Records) WriteCheck(before, c *session.Check, snapshot uint64) {
	of := c.Lot.Grower
	if _, known := r.changed[of]; !known {
		r.changed[of] = nil
		if k, held := r.checks.Get(string(of), snapshot); held {
			r.changed[of] = &k
		}
	}
	r.checks.Written(string(of), snapshot)
	if before != nil && (before.Lot.Grower != of || !before.At.Equal(c.At)) {
		r.checks.Written(string(before.Lot.Grower), snapshot)
		r.changed[before.Lot.Grower], r.changed[of] = nil, nil
	}
}

// Filed is given a check of the write as it will be read; read is called where it is of use.
func (r *Records) Filed(grower session.PersonID, read func() (session.Check, error)) error {
	k := r.changed[grower]
	if k == nil {
		return nil
	}
	c, err := read()
	if err != nil {
		return err
	}
	r.changed[grower] = k.with(c)
	return nil
}

// Committed says that the snapshot of the write can be read.
func (r *Records) Committed(snapshot uint64) {
	for grower, k := range r.changed {
		if k != nil {
			r.hold(grower, snapshot, k)
		}
	}
	clear(r.changed)
}

// with is the list with a check that is new, or was changed where it stands.
func (k *newest) with(c session.Check) *newest {
	list := slices.DeleteFunc(slices.Clone(k.list), func(o session.Check) bool { return o.Slip == c.Slip })
	place, _ := slices.BinarySearchFunc(list, c, func(o, c session.Check) int {
		return cmp.Or(c.At.Compare(o.At), cmp.Compare(c.Slip, o.Slip))
	})
	list = slices.Insert(list, place, c)
	return &newest{k.asked, list[:min(k.asked, len(list))]}
}

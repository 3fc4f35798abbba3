package recent

import (
	"cmp"
	"slices"

	"threshline/session"
)

// mostPeople and mostChecks bound what is held, some 20 MB at most.
const (
	mostPeople = 8192
	mostChecks = 8192
)

// Records are what the dialogue of a phone reads again and again: whose it is, and a
// grower's newest checks.
//
// All goroutines may read. One at a time writes, in these steps:
//
//  1. Begin;
//  2. WritePerson, WriteCheck and WriteAny say what changes, while nobody can read the
//     new snapshot;
//  3. Wrote gives each check of WriteCheck as it is stored;
//  4. Committed, when the new snapshot can be read.
//
// A write that fails ends before the last step. Nil Records hold nothing.
type Records struct {
	people shelf[session.Person] // by phone
	checks shelf[newest]         // by grower
	// next are the newest checks, as they will be, of growers with one in the write
	// under way; nil where that is not known.
	next map[session.PersonID]*newest
}

// newest are a grower's newest checks, at most so many as were asked for.
type newest struct {
	asked int
	list  []session.Check
}

// NewRecords holds nothing.
func NewRecords() *Records {
	return &Records{
		people: shelf[session.Person]{most: mostPeople}, checks: shelf[newest]{most: mostChecks},
		next: map[session.PersonID]*newest{},
	}
}

// Person is who has a phone in a snapshot, which read says where it is not known. It
// shares nothing with what is held.
func (r *Records) Person(phone session.Phone, snapshot uint64, read func() (session.Person, error)) (session.Person, error) {
	if r == nil {
		return read()
	}
	p, ok := r.people.get(string(phone), snapshot)
	if !ok {
		var err error
		if p, err = read(); err != nil {
			return p, err
		}
		r.people.put(string(phone), snapshot, p, 1)
	}
	p.Kit.Lacks = slices.Clone(p.Kit.Lacks)
	return p, nil
}

// Newest are a grower's newest checks in a snapshot, at most n, which read lists where
// they are not known. The list is shared: nobody may change it, or what is in it.
func (r *Records) Newest(grower session.PersonID, n int, snapshot uint64, read func() ([]session.Check, error)) ([]session.Check, error) {
	if r == nil || n <= 0 {
		return read()
	}
	k, ok := r.checks.get(string(grower), snapshot)
	if !ok || n > k.asked && len(k.list) == k.asked {
		list, err := read()
		if err != nil {
			return nil, err
		}
		k = newest{n, list}
		r.hold(grower, snapshot, &k)
	}
	return slices.Clip(k.list[:min(n, len(k.list))]), nil
}

func (r *Records) hold(grower session.PersonID, snapshot uint64, k *newest) {
	if spare := cap(k.list) - len(k.list); spare > 0 { // a check is a kilobyte
		k.list = append(make([]session.Check, 0, len(k.list)), k.list...)
	}
	r.checks.put(string(grower), snapshot, *k, 1+len(k.list))
}

// Begin begins a write; one that was not committed is over.
func (r *Records) Begin() { clear(r.next) }

// WriteAny says that the write may change anything.
func (r *Records) WriteAny(snapshot uint64) {
	r.people.writtenAll(snapshot)
	r.checks.writtenAll(snapshot)
	for grower := range r.next {
		r.next[grower] = nil
	}
}

// WritePerson says that the write changes a person; before is nil for a new one.
func (r *Records) WritePerson(before, p *session.Person, snapshot uint64) {
	r.people.written(string(p.Phone), snapshot)
	if before != nil {
		r.people.written(string(before.Phone), snapshot)
	}
}

// WriteCheck says that the write changes a check; before is nil for a new one.
func (r *Records) WriteCheck(before, c *session.Check, snapshot uint64) {
	of := c.Lot.Grower
	if _, known := r.next[of]; !known {
		r.next[of] = nil
		if k, held := r.checks.get(string(of), snapshot); held {
			r.next[of] = &k
		}
	}
	r.checks.written(string(of), snapshot)
	if before != nil && (before.Lot.Grower != of || !before.At.Equal(c.At)) {
		r.checks.written(string(before.Lot.Grower), snapshot)
		r.next[before.Lot.Grower], r.next[of] = nil, nil
	}
}

// Wrote takes a check of a grower as it will be read, if that is of use.
func (r *Records) Wrote(grower session.PersonID, read func() (session.Check, error)) error {
	k := r.next[grower]
	if k == nil {
		return nil
	}
	c, err := read()
	if err != nil {
		return err
	}
	r.next[grower] = k.with(c)
	return nil
}

// Committed says that the snapshot of the write can be read.
func (r *Records) Committed(snapshot uint64) {
	for grower, k := range r.next {
		if k != nil {
			r.hold(grower, snapshot, k)
		}
	}
	clear(r.next)
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

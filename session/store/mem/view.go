package mem

import (
	"fmt"
	"strings"

	"github.com/google/btree"

	"threshline/session"
)

// view is a snapshot, as a turn sees it.
type view struct{ state }

var _ session.View = view{}

func (v view) Dialogue(phone session.Phone) (session.Dialogue, error) {
	d, ok := v.dialogues.Get(session.Dialogue{Phone: phone})
	if !ok {
		return session.Dialogue{Phone: phone}, nil
	}
	return d.Clone(), nil
}

func (v view) Person(id session.PersonID) (session.Person, error) {
	p, ok := v.people.Get(session.Person{ID: id})
	if !ok {
		return session.Person{}, fmt.Errorf("mem: person %q: %w", string(id), session.ErrNotFound)
	}
	return clonePerson(p), nil
}

func (v view) PersonByPhone(phone session.Phone) (session.Person, error) {
	e, ok := v.phones.Get(phoneEntry{phone: phone})
	if !ok {
		return session.Person{}, fmt.Errorf("mem: person of phone %v: %w", phone, session.ErrNotFound)
	}
	return v.Person(e.id)
}

func (v view) Growers(agent session.PersonID) (list []session.Person, err error) {
	v.growers.AscendGreaterOrEqual(growerEntry{agent: agent, short: minShort}, func(e growerEntry) bool {
		return e.agent == agent && v.add(&list, e.id, &err)
	})
	return list, err
}

func (v view) Named(district string) (list []session.Person, err error) {
	v.named.AscendGreaterOrEqual(namedEntry{district, ""}, func(e namedEntry) bool {
		return e.district == district && v.add(&list, e.id, &err)
	})
	return list, err
}

func (v view) Coordinators() (list []session.Person, err error) {
	v.heads.Ascend(func(id session.PersonID) bool { return v.add(&list, id, &err) })
	return list, err
}

// add adds a person to a list, and reports whether there is one.
func (v view) add(list *[]session.Person, id session.PersonID, err *error) bool {
	p, fault := v.Person(id)
	*list, *err = append(*list, p), fault
	return fault == nil
}

// minShort sorts before every short number.
const minShort = -1 << 31

func (v view) Check(slip session.Slip) (session.Check, error) {
	k, ok := v.checks.Get(session.Check{Slip: slip})
	if !ok {
		return session.Check{}, fmt.Errorf("mem: check %q: %w", string(slip), session.ErrNotFound)
	}
	return cloneCheck(k), nil
}

func (v view) ChecksOf(grower session.PersonID, n int) ([]session.Check, error) {
	return v.newest(v.ofGrower, grower, n)
}

func (v view) ChecksBy(reporter session.PersonID, n int) ([]session.Check, error) {
	return v.newest(v.byReporter, reporter, n)
}

// newest walks a person's checks backwards, from before the next person's.
func (v view) newest(tree *btree.BTreeG[filedEntry], person session.PersonID, n int) (list []session.Check, err error) {
	tree.DescendLessOrEqual(filedEntry{person: person + "\x00"}, func(e filedEntry) bool {
		if e.person != person || len(list) >= n {
			return false
		}
		var k session.Check
		k, err = v.Check(e.slip)
		list = append(list, k)
		return err == nil
	})
	return list, err
}

func (v view) Looked(slip session.Slip) (list []session.Reminder, err error) {
	first := session.LookedID(slip, "")
	v.reminders.AscendGreaterOrEqual(session.Reminder{ID: first}, func(r session.Reminder) bool {
		of := strings.HasPrefix(string(r.ID), string(first))
		if of {
			list = append(list, r)
		}
		return of
	})
	return list, nil
}

func (v view) Invite(code string) (session.Invite, error) {
	i, ok := v.invites.Get(session.Invite{Code: code})
	if !ok {
		return session.Invite{}, fmt.Errorf("mem: invite %q: %w", code, session.ErrNotFound)
	}
	return i, nil
}

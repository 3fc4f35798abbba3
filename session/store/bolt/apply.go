package bolt

import (
	"bytes"
	"fmt"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/record"
)

// personChange is a person as it will be stored, and as it was.
type personChange struct {
	new   *session.Person
	value []byte
	old   *session.Person // nil for a new one
}

// checkChange is a check as it will be stored, and as it was.
type checkChange struct {
	new      *session.Check
	value    []byte
	old      *session.Check // nil for a new one
	position []byte         // of old
	placed   []byte         // where write put the new one
}

// check refuses a write when another exchange has changed the record first.
func (x *exchange) check(tx *bbolt.Tx) error {
	for _, check := range [...]func(*exchange, *bbolt.Tx) error{
		(*exchange).checkDialogues, (*exchange).checkReminders, (*exchange).checkPeople, (*exchange).checkChecks,
		(*exchange).checkKeyed,
	} {
		if err := check(x, tx); err != nil {
			return err
		}
	}
	return nil
}

func (x *exchange) checkPeople(tx *bbolt.Tx) error {
	if len(x.people) == 0 {
		return nil
	}
	people, phones := in(tx, personBucket), in(tx, phoneBucket)
	for i := range x.people {
		c := &x.people[i]
		v := people.Get([]byte(c.new.ID))
		if record.Version(v) != c.new.Version {
			return conflict("person")
		}
		c.old = nil
		if v != nil {
			c.old = new(session.Person)
			if err := record.Decode(v[record.VersionSize:], c.old, record.Person); err != nil {
				return fmt.Errorf("bolt: person %q: %w", string(c.new.ID), err)
			}
		}
	}
	for i := range x.people {
		p := x.people[i].new
		if p.Phone == "" {
			continue
		}
		if holder := phones.Get([]byte(p.Phone)); holder != nil && session.PersonID(holder) != p.ID && !x.releases(session.PersonID(holder), p.Phone) {
			return taken("phone")
		}
		for j := range i {
			if x.people[j].new.Phone == p.Phone {
				return fmt.Errorf("%w: two people with one phone", ErrInvalid)
			}
		}
	}
	return nil
}

// releases reports whether this exchange takes the phone away from its holder.
func (x *exchange) releases(holder session.PersonID, phone session.Phone) bool {
	for i := range x.people {
		if p := x.people[i].new; p.ID == holder {
			return p.Phone != phone
		}
	}
	return false
}

func (x *exchange) checkChecks(tx *bbolt.Tx) error {
	if len(x.checks) == 0 {
		return nil
	}
	slips, checks := in(tx, slipBucket), in(tx, checkBucket)
	for i := range x.checks {
		c := &x.checks[i]
		c.old, c.position = nil, bytes.Clone(slips.Get([]byte(c.new.Slip)))
		if c.position == nil {
			if c.new.Version != 0 {
				return conflict("check")
			}
			continue
		}
		if c.new.Version == 0 {
			return taken("slip")
		}
		c.old = new(session.Check)
		version, err := record.Versioned(checks.Get(c.position), c.old, record.Check)
		if err != nil {
			return fmt.Errorf("bolt: check %q: %w", string(c.new.Slip), err)
		}
		if version != c.new.Version {
			return conflict("check")
		}
	}
	return nil
}

// checkKeyed is for what has no index besides its key.
func (x *exchange) checkKeyed(tx *bbolt.Tx) error {
	if len(x.writes.Invites)+len(x.writes.Outgoing)+len(x.writes.Accounts) == 0 {
		return nil
	}
	invites, accounts, messages := in(tx, inviteBucket), in(tx, accountBucket), in(tx, outgoingBucket)
	for _, i := range x.writes.Invites {
		if record.Version(invites.Get([]byte(i.Code))) != i.Version {
			return conflict("invite")
		}
	}
	for i := range x.writes.Outgoing {
		if messages.Get([]byte(x.writes.Outgoing[i].ID)) != nil {
			return taken("outgoing message")
		}
	}
	for i := range x.writes.Accounts {
		if a := &x.writes.Accounts[i]; record.Version(accounts.Get([]byte(a.ID))) != a.Version {
			return conflict("account")
		}
	}
	return nil
}

// checkReminders comes first: if the reminder to be fired is gone, there is no
// use in running the turn again.
func (x *exchange) checkReminders(tx *bbolt.Tx) error {
	if len(x.writes.Reminders) == 0 {
		return nil
	}
	b := in(tx, reminderBucket)
	for i := range x.writes.Reminders {
		r := &x.writes.Reminders[i]
		if !r.Cancel || r.Due.IsZero() {
			continue
		}
		// One that says when it was due is being fired: it must still be there.
		var stored session.Reminder
		if v := b.Get([]byte(r.ID)); v != nil {
			var err error
			if stored, err = reminderAt([]byte(r.ID), v); err != nil {
				return err
			}
		}
		if !stored.Due.Equal(r.Due) {
			return fmt.Errorf("bolt: reminder %q: %w", string(r.ID), session.ErrNotFound)
		}
	}
	return nil
}

func conflict(what string) error {
	return fmt.Errorf("bolt: %s: %w", what, session.ErrConflict)
}

// A taken key is a conflict too: when the turn runs again, it may choose
// another key.
func taken(what string) error {
	return fmt.Errorf("bolt: %s: %w: %w", what, session.ErrExists, session.ErrConflict)
}

// putter puts into buckets until the first error.
type putter struct {
	tx   *bbolt.Tx
	size int // of the keys and values put so far, in bytes
	err  error
}

// put stores a value. It may overwrite the spare room of the slice after the
// value.
func (p *putter) put(bucket, key, value []byte) {
	if p.err == nil {
		p.size += len(key) + len(value)
		p.err = p.tx.Bucket(bucket).Put(key, sealed(key, value))
	}
}

func (p *putter) delete(bucket, key []byte) {
	if p.err == nil {
		p.err = p.tx.Bucket(bucket).Delete(key)
	}
}

// number is a bucket's next number.
func (p *putter) number(bucket []byte) uint64 {
	n, err := p.tx.Bucket(bucket).NextSequence()
	if p.err == nil {
		p.err = err
	}
	return n
}

// next is number as a key.
func (p *putter) next(bucket []byte) []byte { return number(p.number(bucket)) }

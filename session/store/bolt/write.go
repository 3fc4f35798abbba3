package bolt

import (
	"bytes"
	"time"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/record"
)

// write stores everything that check has accepted.
func (x *exchange) write(tx *bbolt.Tx) error {
	p := &putter{tx: tx}
	for i := range x.erasures {
		p.erase(&x.erasures[i], x)
	}
	p.keepAnswers(x.answers)
	for i := range x.dialogues {
		x.dialogues[i].write(p)
	}
	for i := range x.people {
		x.people[i].write(p)
	}
	for i := range x.people {
		x.people[i].takePhone(p)
	}
	for i := range x.checks {
		x.checks[i].write(p)
	}
	for i := range x.invites {
		p.putInvite(&x.writes.Invites[i], x.invites[i])
	}
	x.writeMessages(p)
	for _, note := range x.notes {
		p.put(noteBucket, p.next(noteBucket), note)
	}
	for i := range x.accounts {
		if a := &x.writes.Accounts[i]; a.Remove {
			p.delete(accountBucket, []byte(a.ID))
		} else {
			p.put(accountBucket, []byte(a.ID), x.accounts[i])
		}
	}
	x.size = p.size
	return p.err
}

// write stores the person and updates the indexes that name them. It takes the
// phone later: another person of the same exchange may give it up first.
func (c *personChange) write(p *putter) {
	id := []byte(c.new.ID)
	p.put(personBucket, id, c.value)
	if o := c.old; o != nil {
		if o.Phone != "" && o.Phone != c.new.Phone {
			p.delete(phoneBucket, []byte(o.Phone))
		}
		if o.Agent != "" && (o.Agent != c.new.Agent || o.Short != c.new.Short) {
			p.delete(growerBucket, growerKey(string(o.Agent), o.Short, string(o.ID)))
		}
		if k := namedKey(o); k != nil && !bytes.Equal(k, namedKey(c.new)) {
			p.delete(growerBucket, k)
		}
	}
	switch was := c.old != nil && c.old.Role == session.Coordinator; {
	case c.new.Role == session.Coordinator:
		p.put(headBucket, id, nil)
	case was:
		p.delete(headBucket, id)
	}
	if n := c.new; n.Agent != "" {
		p.put(growerBucket, growerKey(string(n.Agent), n.Short, string(n.ID)), nil)
	}
	if k := namedKey(c.new); k != nil {
		p.put(growerBucket, k, nil)
	}
}

func (c *personChange) takePhone(p *putter) {
	if c.new.Phone != "" && (c.old == nil || c.old.Phone != c.new.Phone) {
		p.put(phoneBucket, []byte(c.new.Phone), []byte(c.new.ID))
	}
}

// write stores the check at a new position, and takes it from its old one.
func (c *checkChange) write(p *putter) {
	position := p.next(checkBucket)
	slip := string(c.new.Slip)
	if c.old != nil {
		p.delete(checkBucket, c.position)
	}
	p.put(checkBucket, position, c.value)
	p.put(slipBucket, []byte(slip), position)
	c.placed = position
	at := record.Instant(c.new.At)
	of, by := filedKey(string(c.new.Lot.Grower), at, slip), filedKey(string(c.new.Reporter), at, slip)
	if c.old != nil {
		at := record.Instant(c.old.At)
		if k := filedKey(string(c.old.Lot.Grower), at, slip); !bytes.Equal(k, of) {
			p.delete(ofGrowerBucket, k)
		}
		if k := filedKey(string(c.old.Reporter), at, slip); !bytes.Equal(k, by) {
			p.delete(byReporterBucket, k)
		}
	}
	p.put(ofGrowerBucket, of, nil)
	p.put(byReporterBucket, by, nil)
}

// putInvite stores an invitation, and when it is over.
func (p *putter) putInvite(i *session.Invite, value []byte) {
	code := []byte(i.Code)
	p.put(inviteBucket, code, value)
	if until := record.Instant(i.Expires); until != 0 {
		p.put(expiryBucket, expiryKey(until, inviteExpiry, code), nil)
	}
}

// putOutgoing stores a message, and when the sweep looks whether it is kept long
// enough.
func (p *putter) putOutgoing(o *storedOutgoing, value []byte, keep time.Duration) {
	p.put(outgoingBucket, []byte(o.ID), value)
	p.put(sentBucket, timed(record.Instant(o.Created), string(o.ID)), nil)
	if o.State == session.Queued {
		p.put(queueBucket, o.place(), nil)
	}
	p.put(expiryBucket, expiryKey(record.Later(o.Created, keep), outgoingExpiry, []byte(o.ID)), nil)
}

func (x *exchange) writeMessages(p *putter) {
	for i := range x.outgoing {
		p.putOutgoing(&storedOutgoing{Outgoing: x.writes.Outgoing[i]}, x.outgoing[i], x.keep)
	}
	for i := range x.remind {
		r := &x.writes.Reminders[i]
		id := []byte(r.ID)
		dropReminder(p, id)
		if !r.Cancel {
			p.put(reminderBucket, id, x.remind[i])
			p.put(remindBucket, timed(record.Instant(r.Due), string(r.ID)), nil)
		}
	}
}

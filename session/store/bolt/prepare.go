package bolt

import (
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"strings"
	"time"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/record"
)

// ErrInvalid: the turn's writes cannot be stored: a key is missing, too long,
// contains a zero byte, or comes twice. It is a fault of the turn.
var ErrInvalid = errors.New("bolt: cannot be stored")

// exchange is what one run of a turn wants written, ready to be put: the
// encoding is done by the caller's goroutine, not by the committer.
type exchange struct {
	key    session.Key
	read   uint64 // the version of the dialogue of key.Phone that the turn read
	writes session.Writes
	keep   time.Duration // how long a settled message stays
	size   int           // of what was put, in bytes

	hasher    *record.Hasher
	older     *record.Hasher // see storedReply
	answerKey []byte         // of the message; nil when it has no key

	swept uint64 // answers until then count no more

	dialogues []dialogueChange
	answers   []answer // to be kept without a dialogue
	people    []personChange
	checks    []checkChange
	invites   [][]byte
	outgoing  [][]byte
	remind    [][]byte
	notes     [][]byte
	accounts  [][]byte
	erasures  []erasure

	stored session.Reply // to another delivery of this message
	until  time.Time     // of an earlier one
}

// empty tells that there is nothing to commit.
func (x *exchange) empty() bool {
	w := &x.writes
	return x.key.Duplicate == "" && w.Dialogue == nil && len(w.People) == 0 && len(w.Checks) == 0 &&
		len(w.Outgoing) == 0 && len(w.Reminders) == 0 && len(w.Invites) == 0 && len(w.Notes) == 0 && len(w.Accounts) == 0 && len(w.Forget) == 0
}

// prepare validates and encodes everything. stored is what lies under the
// phone of the exchange.
func (x *exchange) prepare(tx *bbolt.Tx, stored []byte) error {
	w := &x.writes
	if err := x.prepareForgetting(tx); err != nil {
		return err
	}
	if err := x.prepareDialogues(tx, stored); err != nil {
		return err
	}
	if err := x.preparePeople(); err != nil {
		return err
	}
	if err := x.prepareChecks(); err != nil {
		return err
	}
	if err := x.prepareMessages(); err != nil {
		return err
	}
	seen := unique[string]{what: "invite"}
	for i := range w.Invites {
		if err := seen.add(w.Invites[i].Code); err != nil {
			return err
		}
		x.invites = append(x.invites, record.Encode(begun(w.Invites[i].Version+1), &w.Invites[i], record.Invite))
	}
	for i := range w.Notes {
		x.notes = append(x.notes, record.Encode(nil, &w.Notes[i], record.Note))
	}
	named := unique[session.AccountID]{what: "account"}
	for i := range w.Accounts {
		if err := named.add(w.Accounts[i].ID); err != nil {
			return err
		}
		x.accounts = append(x.accounts, record.Encode(begun(w.Accounts[i].Version+1), &w.Accounts[i], record.Account))
	}
	return nil
}

func (x *exchange) preparePeople() error {
	seen := unique[session.PersonID]{what: "person"}
	for i := range x.writes.People {
		p := &x.writes.People[i]
		if err := seen.add(p.ID); err != nil {
			return err
		}
		if err := within("a person's agent or phone", string(p.Agent), string(p.Phone)); err != nil {
			return err
		}
		x.people = append(x.people, personChange{new: p, value: record.Encode(begun(p.Version+1), p, record.Person)})
	}
	return nil
}

func (x *exchange) prepareChecks() error {
	seen := unique[session.Slip]{what: "check"}
	for i := range x.writes.Checks {
		k := &x.writes.Checks[i]
		if err := seen.add(k.Slip); err != nil {
			return err
		}
		if err := within("a check's people", string(k.Lot.Grower), string(k.Reporter)); err != nil {
			return err
		}
		x.checks = append(x.checks, checkChange{new: k, value: record.Encode(begun(k.Version+1), k, record.Check)})
	}
	return nil
}

func (x *exchange) prepareMessages() error {
	sent := unique[session.OutgoingID]{what: "outgoing message"}
	for i := range x.writes.Outgoing {
		o := &x.writes.Outgoing[i]
		if err := sent.add(o.ID); err != nil {
			return err
		}
		o.State = cmp.Or(o.State, session.Queued)
		o.Lease = 0
		x.outgoing = append(x.outgoing, encodeOutgoing(0, o))
	}
	for i := range x.writes.Reminders {
		r := &x.writes.Reminders[i]
		if err := fits("the key of a reminder", string(r.ID)); err != nil {
			return err
		}
		x.remind = append(x.remind, record.Encode(make([]byte, 0, 128), r, record.Reminder))
	}
	return nil
}

// begun is a record's version, with room for most records behind it.
func begun(version uint64) []byte {
	return binary.BigEndian.AppendUint64(make([]byte, 0, 512), version)
}

// unique finds a key that is missing, unfit or comes twice.
type unique[K ~string] struct {
	what string
	keys map[K]bool
}

func (u *unique[K]) add(key K) error {
	if err := fits("the key of a "+u.what, string(key)); err != nil {
		return err
	}
	if u.keys[key] {
		return fmt.Errorf("%w: %s %q comes twice", ErrInvalid, u.what, string(key))
	}
	if u.keys == nil {
		u.keys = make(map[K]bool)
	}
	u.keys[key] = true
	return nil
}

// fits reports whether a key can be one.
func fits(what, key string) error {
	if key == "" {
		return fmt.Errorf("%w: %s is missing", ErrInvalid, what)
	}
	return within(what, key)
}

// within is fits, but a key may be missing.
func within(what string, keys ...string) error {
	for _, key := range keys {
		if len(key) > maxKey {
			return fmt.Errorf("%w: %s is %d bytes long, at most %d", ErrInvalid, what, len(key), maxKey)
		}
		if strings.IndexByte(key, 0) >= 0 {
			return fmt.Errorf("%w: %s holds a zero byte", ErrInvalid, what)
		}
	}
	return nil
}

func checkKey(key session.Key) error {
	return within("an exchange's phone or duplicate key", string(key.Phone), key.Duplicate)
}

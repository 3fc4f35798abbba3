package postgres

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5/pgxpool"

	"threshline/session"
	"threshline/session/store/record"
)

// maxKey bounds every id, phone, slip and duplicate key, in bytes.
const maxKey = 1024

// What an exchange does to the dialogue of its own phone.
const (
	leaveDialogue = iota
	storeDialogue
	removeDialogue
)

// exchange is what one run of a turn wants written, ready to be sent.
type exchange struct {
	key           session.Key
	answer        []byte  // the key of the answer; nil keeps none
	read          int64   // the version of the dialogue of key.Phone that the turn read
	stored        int64   // the version that it has got, once it is stored
	person        *string // the id of the person whom the turn saw, to be checked; empty is nobody, nil was read just now
	personVersion int64
	forgotten     int64 // counts who had been forgotten when the turn read; 0 when it read nothing
	cleared       int   // how often all was let go when the person was recalled
	writes        *session.Writes
	own           int
	expires       int64
	value         []byte
	asks          *string // what the next turn may ask; nil leaves what was kept
	rests         int64
	reply         []byte
	changes       []change
	seen          map[string]bool
	err           error
	conn          *pgxpool.Conn // with the snapshot that the turn read, for the write to end; nil for most of a group
}

// change is one record besides the phone's own dialogue: a row of the arrays
// that write_exchanges takes. What a, b and the numbers are depends on the kind.
type change struct {
	kind, id   string
	version    int64
	a, b       string
	n, m, l, c int64
	value      []byte
}

// lockOrder is the order in which exchanges lock records; other kinds come after.
const lockOrder = "drpk"

func rank(c change) int {
	if at := strings.Index(lockOrder, c.kind); at >= 0 {
		return at
	}
	return len(lockOrder)
}

// prepare validates and encodes everything.
func prepare(key session.Key, answer []byte, read int64, w *session.Writes) (*exchange, error) {
	x := &exchange{key: key, answer: answer, read: read, writes: w}
	if answer != nil {
		x.reply = encode(&w.Reply, record.Reply)
	}
	if w.Asks != nil {
		asks := asksText(w.Asks)
		x.asks, x.rests = &asks, column(w.Rests)
	}
	x.dialogue(w.Dialogue)
	x.people(w.People)
	for i := range w.Checks {
		k := &w.Checks[i]
		x.within("a check's people", string(k.Lot.Grower), string(k.Reporter))
		x.add(change{kind: "k", id: string(k.Slip), version: int64(k.Version), a: string(k.Lot.Grower), b: string(k.Reporter),
			n: column(k.At), value: encode(k, record.Check)})
	}
	x.messages(w)
	for i := range w.Invites {
		v := &w.Invites[i]
		x.add(change{kind: "i", id: v.Code, version: int64(v.Version), a: string(v.Agent), b: string(v.Person), n: column(v.Expires), value: encode(v, record.Invite)})
	}
	for i := range w.Notes {
		x.changes = append(x.changes, change{kind: "n", value: encode(&w.Notes[i], record.Note)})
	}
	for i := range w.Accounts {
		a := &w.Accounts[i]
		x.add(change{kind: "a", id: string(a.ID), version: int64(a.Version), m: flag(a.Remove), value: encode(a, record.Account)})
	}
	slices.SortStableFunc(x.changes, func(a, b change) int { return cmp.Compare(rank(a), rank(b)) })
	return x, x.err
}

// empty tells that there is nothing to commit.
func (x *exchange) empty() bool {
	return x.key.Duplicate == "" && x.own == leaveDialogue && x.writes.Dialogue == nil && len(x.changes) == 0 && len(x.writes.Forget) == 0
}

func (x *exchange) dialogue(d *session.Dialogue) {
	if d == nil {
		return
	}
	x.fits("a dialogue's phone", string(d.Phone))
	c := change{kind: "d", id: string(d.Phone), version: int64(d.Version), n: column(d.Expires), m: flag(d.Empty())}
	if !d.Empty() {
		c.value = record.Encode(make([]byte, 0, 768), d, record.Dialogue)
	}
	switch {
	case d.Phone != x.key.Phone:
		x.add(c)
	case d.Empty():
		x.own = removeDialogue
	default:
		x.own, x.expires, x.value = storeDialogue, c.n, c.value
	}
}

func (x *exchange) people(people []session.Person) {
	for i := range people {
		p := &people[i]
		x.within("a person's agent or phone", string(p.Agent), string(p.Phone))
		if p.Phone != "" {
			x.once("phone", string(p.Phone))
		}
		x.add(change{kind: "p", id: string(p.ID), version: int64(p.Version), a: string(p.Phone), b: string(p.Agent) + "\t" + session.PlainName(p.Name),
			n: int64(p.Short), m: flag(p.Role == session.Coordinator), l: namedIn(p), c: int64(placeOf(p.District)), value: encode(p, record.Person)})
	}
}

// What a reminder is written for.
const (
	setReminder    = 0
	cancelReminder = 1
	fireReminder   = 2 // it must be there, and due at that time
)

func (x *exchange) messages(w *session.Writes) {
	for i := range w.Outgoing {
		o := &w.Outgoing[i]
		if o.State == "" {
			o.State = session.Queued
		}
		o.Lease = 0
		x.within("a message's channel", o.Channel)
		x.add(change{kind: "o", id: string(o.ID), version: int64(o.Segments), a: string(o.State), b: o.Channel, n: column(o.Due), m: column(o.Expires),
			l: column(o.Created), c: column(o.Changed), value: encode(o, record.Outgoing)})
	}
	for i := range w.Reminders {
		r := &w.Reminders[i]
		c := change{kind: "r", id: string(r.ID), n: column(r.Due), value: encode(r, record.Reminder)}
		switch {
		case r.Cancel && !r.Due.IsZero():
			c.version = fireReminder
		case r.Cancel:
			c.version = cancelReminder
		}
		x.fits("the key of a reminder", c.id) // it may come twice: the last one counts
		x.changes = append(x.changes, c)
	}
}

// add takes a change whose key must be there, and no other's of its kind.
func (x *exchange) add(c change) {
	x.fits("the key of a record", c.id)
	x.once(c.kind, c.id)
	x.changes = append(x.changes, c)
}

func (x *exchange) once(kind, key string) {
	if x.seen == nil {
		x.seen = make(map[string]bool)
	}
	at := kind + "\x00" + key
	if x.seen[at] {
		x.err = fmt.Errorf("%w: %q comes twice", ErrInvalid, key)
	}
	x.seen[at] = true
}

func (x *exchange) fits(what, key string) {
	if key == "" {
		x.err = fmt.Errorf("%w: %s is missing", ErrInvalid, what)
	}
	x.within(what, key)
}

func (x *exchange) within(what string, keys ...string) {
	if err := within(what, keys...); err != nil {
		x.err = err
	}
}

// within reports whether keys can be ones, if they are there.
func within(what string, keys ...string) error {
	for _, key := range keys {
		if len(key) > maxKey || strings.IndexByte(key, 0) >= 0 || !utf8.ValidString(key) {
			return fmt.Errorf("%w: %s is %d bytes long, at most %d of UTF-8 without a zero", ErrInvalid, what, len(key), maxKey)
		}
	}
	return nil
}

func flag(yes bool) int64 {
	if yes {
		return 1
	}
	return 0
}

// encode is a record's bytes: none at all is not the same as no record.
func encode[T any](v *T, fields func(*record.Coder, *T)) []byte {
	return record.Encode(make([]byte, 0, 256), v, fields)
}

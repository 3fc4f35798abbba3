package session

import (
	"errors"
	"time"
)

// Kind is the kind of a channel.
type Kind string

// The kinds of channel.
const (
	USSD Kind = "ussd"
	SMS  Kind = "sms"
)

// Event is what the network says about the session a message belongs to.
type Event string

// The events. SMS is always Continue.
const (
	Start    Event = "start"
	Continue Event = "continue"
	End      Event = "end"     // the person or network hung up: nothing can be shown
	Timeout  Event = "timeout" // likewise
)

// Input is one inbound message, as the dialogue sees it.
type Input struct {
	Channel        string
	Kind           Kind
	Event          Event
	Phone          Phone
	Text           string
	NetworkSession string
	// Star says that the channel does not use "*" to separate inputs. A person
	// whose phone lacks the keys may then type it for the decimal point and,
	// alone, for "?".
	Star bool
	At   time.Time
	// Entropy is fresh random bits for this run of the turn: slips and person
	// ids are made from it, so that the turn itself stays pure.
	Entropy [2]uint64
	Budget  Budget
}

// Random is the nth 64 bits of the turn's entropy.
func (in *Input) Random(n uint64) uint64 { return scramble(in.Entropy[0] ^ scramble(in.Entropy[1]+n)) }

// Budget is how much a screen or message may hold.
type Budget struct {
	// Septets is the most a message may count (160 unless configured; at most
	// 182 for USSD, [TS-23.038]).
	Septets int
	// Count returns a text's length in septets, and whether the GSM 7-bit alphabet
	// can write it at all. A letter counts one at least, and parts of a text add up.
	Count func(string) (septets int, ok bool)
}

// The septets of a message, and how many of them each of several joined ones
// gives to say how they are joined [TS-23.040].
const (
	oneMessage = 160
	joinHeader = 7
)

// Joined returns the most septets that a text sent as n messages may have.
func (b Budget) Joined(n int) int {
	return max(b.Septets, n*(min(b.Septets, oneMessage)-joinHeader))
}

// Reply is the answer to one inbound message.
type Reply struct {
	Text string
	// More says that we wait for an answer: the USSD session stays open.
	More bool
	// Silent says that nothing is sent at all.
	Silent bool
	// Safety marks a reply that is sent even when the daily limit is reached.
	Safety bool
}

// OutgoingID names an outgoing message; it is also the client reference that
// lets a carrier drop a duplicate.
type OutgoingID string

// OutgoingState says how far an outgoing message has come.
type OutgoingState string

// The states of an outgoing message.
const (
	Queued    OutgoingState = "queued"
	HandedOn  OutgoingState = "handed on" // the carrier took it
	Delivered OutgoingState = "delivered" // a receipt says so
	Failed    OutgoingState = "failed"    // a receipt says so
	Dead      OutgoingState = "dead"      // given up after all retries
	Expired   OutgoingState = "expired"   // dropped because it would come too late
	Refused   OutgoingState = "refused"   // the person has stopped messages, or no budget
)

// Purpose is why a message goes out; it decides about quiet hours, STOP and
// the daily limit.
type Purpose string

// The purposes.
const (
	Answer    Purpose = "answer"   // reply to what was just sent in
	Greeting  Purpose = "greeting" // likewise, to somebody we do not know
	Further   Purpose = "further"  // likewise, beyond what one phone may take of the money for people we know
	Safety    Purpose = "safety"   // caution: never held back by a limit
	Reminding Purpose = "reminder" // waits for morning, dropped when late, respects STOP
	Digest    Purpose = "digest"   // likewise
	Alert     Purpose = "alert"    // a lot that is dangerous, or is no longer
	Alerts    Purpose = "alerts"   // several in one: never held back by a limit
)

// Outgoing is a message of ours on its way to a phone.
type Outgoing struct {
	ID        OutgoingID
	To        Phone
	Channel   string // empty: the gateway's first channel that can send
	Text      string
	Purpose   Purpose
	Slip      Slip // what it is about, may be empty
	Created   time.Time
	Due       time.Time // not before
	Expires   time.Time // not after; zero never
	Attempts  int
	State     OutgoingState
	Changed   time.Time // when State last changed
	CarrierID string    // the carrier's own id, once handed on
	Problem   string    // the last failure, in plain words, no number in it
	Segments  int
	// Lease is the number of the claim that handed the message out; the engine
	// counts it and settles a message only for its last claim.
	Lease uint64
	// Claimed is when that was, by the clock that messages are due by: that of the
	// store where gateways share one. It is not stored.
	Claimed time.Time
	// Erase says that the person asked to be forgotten: see Settled.
	Erase bool
}

// ReminderID names a reminder: a person has at most one of each.
type ReminderID string

// Reminder is something to do at a time: it becomes a turn of its own when due.
type Reminder struct {
	ID     ReminderID
	Due    time.Time
	Kind   string // one of the kinds above LookedID
	Person PersonID
	Phone  Phone
	Slip   Slip
	// First is the time it was first due, when it was put off since.
	First time.Time
	// Language is the language for a person of whom we know nothing else.
	Language Language
	// Cancel, in Writes, takes the reminder of this ID back, if there is one. With
	// Due set, the reminder is being carried out: if it is no longer there with
	// that Due, the whole exchange fails with ErrNotFound.
	Cancel bool
}

// Writes is everything that one turn changes. An engine applies all of it or
// nothing.
type Writes struct {
	// Dialogue is the dialogue's new state; nil leaves it as it is.
	Dialogue  *Dialogue
	People    []Person // Version is the one read; the engine counts it up
	Checks    []Check  // likewise; a new one has Version 0
	Outgoing  []Outgoing
	Reminders []Reminder // in order: of several with one ID the last one counts
	Invites   []Invite
	Notes     []AuditNote
	Accounts  []Account // Version is the one read, as with People
	Forget    []Trace   // who is taken out of all that is stored
	// Asks are what the next turn of the phone may ask, kept with the dialogue; nil
	// leaves what was kept.
	Asks []Ask
	// Rests is when the dialogue is left where it stands, for a message after that
	// to begin anew; kept with Asks.
	Rests time.Time
	Reply Reply
}

// Invite is a code that lets somebody join in a role. If Person is set, the
// code moves that person's record to the phone that sends it.
type Invite struct {
	Code     string
	Version  uint64
	Role     Role
	District string
	Agent    PersonID // who made it
	Person   PersonID
	Expires  time.Time
	Used     bool
}

// AuditNote records who did what to personal data or settings.
type AuditNote struct {
	At      time.Time
	Who     string // role and pseudonym or token name, never a number
	Did     string
	Subject string
}

// Key says whose exchange this is, and how the engine recognises a message that
// is delivered again.
type Key struct {
	// Phone is the one whose dialogue the turn reads and writes; empty for work of
	// our own.
	Phone Phone
	// Duplicate is the channel's name, the sender and the message's id, or empty
	// when the carrier gives none; it is kept until KeepUntil. One key must always
	// come with the same Phone: an engine may look only among that phone's keys.
	Duplicate string
	KeepUntil time.Time
	// Asks are what the turn may ask, as far as the message says that by itself.
	Asks []Ask
}

// Outcome is what became of an exchange.
type Outcome struct {
	Reply Reply
	// Duplicate says that the message had been answered before: Reply is the
	// stored one and nothing was changed.
	Duplicate bool
	// Until is the KeepUntil of the stored reply; zero when both deliveries were
	// answered at the same time.
	Until time.Time
	// Runs counts how often the turn ran: more than once after conflicts.
	Runs int
}

// View is what a turn may read: one consistent snapshot of the store. Its
// results share nothing with the store, so the turn may change them. Only lists of
// checks may be shared: neither such a list nor anything in it is to be changed. A
// method that finds nothing returns ErrNotFound (wrapped or bare); a list is then empty.
type View interface {
	// Dialogue returns a zero Dialogue with the Phone set when there is none.
	Dialogue(Phone) (Dialogue, error)
	Person(PersonID) (Person, error)
	PersonByPhone(Phone) (Person, error)
	// Growers lists an agent's growers, by Short number.
	Growers(agent PersonID) ([]Person, error)
	// Coordinators lists all coordinators by ID, also those who stopped messages
	// or left.
	Coordinators() ([]Person, error)
	// Named lists by ID the agents who are named to growers of a district: see
	// Person.NamedIn.
	Named(district string) ([]Person, error)
	Check(Slip) (Check, error)
	// ChecksOf lists a grower's checks, newest first, at most n.
	ChecksOf(grower PersonID, n int) ([]Check, error)
	// ChecksBy lists a reporter's checks, newest first, at most n.
	ChecksBy(reporter PersonID, n int) ([]Check, error)
	Invite(code string) (Invite, error)
	// Looked lists the notes of who looked a slip up, by ID: see LookedID.
	Looked(Slip) ([]Reminder, error)
}

// Turn reads a View and returns what to change. It is pure: an engine may run
// it more than once and applies only the last run's Writes.
type Turn func(View) (Writes, error)

// Step works out the changes that one message makes. Errors are faults of the
// store; a wrong entry gets an answer, not an error.
type Step func(View, Input) (Writes, error)

// Remind works out what one person's due reminders change: messages to send, or
// a later try. Errors are faults of the store.
type Remind func(v View, due []Reminder, now time.Time, entropy [2]uint64, budget Budget) (Writes, error)

// Faults of a store, wrapped by every engine.
var (
	// ErrNotFound: no such record.
	ErrNotFound = errors.New("session: not found")
	// ErrConflict: a record that the turn read was changed meanwhile, at every
	// try; the message should be delivered again.
	ErrConflict = errors.New("session: changed by another exchange")
	// ErrExists: a new record's key is taken.
	ErrExists = errors.New("session: already exists")
	// ErrClosed: the engine is closed or closing.
	ErrClosed = errors.New("session: store is closed")
	// ErrFull: no room on the disk; nothing was stored.
	ErrFull = errors.New("session: store is full")
	// ErrAway: the database does not answer, or takes no writes just now. It may
	// still have stored the last write.
	ErrAway = errors.New("session: store is away")
	// ErrHalted: a write failed, or records are damaged. The engine takes no more
	// writes until somebody has repaired it.
	ErrHalted = errors.New("session: store has halted")
	// ErrBusy: too many exchanges are waiting already.
	ErrBusy = errors.New("session: store is busy")
)

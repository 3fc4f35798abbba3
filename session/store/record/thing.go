package record

import (
	"time"

	"threshline/session"
)

// Thing is one of the things that a store holds, as engines hand them to each
// other, with what they keep beside the record. Exactly one field is set.
type Thing struct {
	Counted  *Counted // comes first, once
	Dialogue *session.Dialogue
	Answer   *Answer
	Person   *session.Person
	Check    *session.Check
	Invite   *session.Invite
	Account  *session.Account
	Note     *Numbered // by number, ascending
	Reminder *session.Reminder
	Outgoing *Message
	Carrier  *Carrier // after the message
	Receipt  *Receipt
}

// Things hands over all that a store holds, until yield returns an error.
type Things func(yield func(Thing) error) error

// Counted is what a store counts and keeps for itself: the last numbers given.
type Counted struct {
	Secret                   Secret
	Dialogues, Checks, Notes uint64
	Journal                  []byte // the id of its journals; nil when it knows of none
}

// Answer is the reply to a message under the message's AnswerKey.
type Answer struct {
	Key   []byte
	Until time.Time
	Reply session.Reply
}

// Numbered is an audit note with its number.
type Numbered struct {
	Number uint64
	session.AuditNote
}

// Message is an outgoing message, and until when somebody holds it.
type Message struct {
	session.Outgoing
	Leased time.Time
}

// Carrier is a carrier's own id of a message.
type Carrier struct {
	Channel, ID string
	Message     session.OutgoingID
}

// Receipt is a delivery receipt that came before its message was settled.
type Receipt struct {
	Channel, ID string
	State       session.OutgoingState
	At          time.Time
}

package bolt

import (
	"encoding/binary"

	"threshline/session"
)

// The buckets. All are top level with composite big-endian keys: a bucket of
// its own per person would cost a page each.
var (
	aboutBucket      = []byte("about")        // what the file is: schema version
	dialogueBucket   = []byte("dialogues")    // phone → dialogue header, dialogue, last answers
	personBucket     = []byte("people")       // id → version, person
	phoneBucket      = []byte("phones")       // phone → id
	growerBucket     = []byte("growers")      // agent or namedIn, short, id → nothing
	headBucket       = []byte("coordinators") // id → nothing
	checkBucket      = []byte("checks")       // position → version, check
	slipBucket       = []byte("slips")        // slip → position
	ofGrowerBucket   = []byte("by grower")    // grower, time filed, slip → nothing
	byReporterBucket = []byte("by reporter")  // reporter, time filed, slip → nothing
	inviteBucket     = []byte("invites")      // code → version, invite
	noteBucket       = []byte("notes")        // number → note
	duplicateBucket  = []byte("duplicates")   // answerKey → reply, keep until
	outgoingBucket   = []byte("outgoing")     // id → lease end, message
	queueBucket      = []byte("queue")        // due or lease end, id → nothing
	sentBucket       = []byte("sent")         // time made, id → nothing
	carrierBucket    = []byte("carrier ids")  // channel, carrier's id → id
	earlyBucket      = []byte("early")        // channel, carrier's id → a receipt before its message
	reminderBucket   = []byte("remindings")   // id → reminder
	remindBucket     = []byte("remind")       // due, id → nothing
	expiryBucket     = []byte("expiry")       // time, kind, key → nothing or keys
	accountBucket    = []byte("accounts")     // id → version, account
)

// buckets lists every bucket that a file has.
var buckets = [][]byte{
	aboutBucket, dialogueBucket, personBucket, phoneBucket, growerBucket, headBucket, checkBucket, slipBucket,
	ofGrowerBucket, byReporterBucket, inviteBucket, noteBucket, duplicateBucket, outgoingBucket, queueBucket,
	sentBucket, carrierBucket, earlyBucket, reminderBucket, remindBucket, expiryBucket,
	accountBucket,
}

// maxKey bounds every id, phone, slip and duplicate key, in bytes. The file
// format would take 32 KiB; nothing of ours comes near this.
const maxKey = 1024

// timeSize is the length of a time in a key.
const timeSize = 8

// number is a number as a key or value.
func number(n uint64) []byte { return binary.BigEndian.AppendUint64(nil, n) }

// timed is the key of an entry that sorts by time, then id.
func timed(at uint64, id string) []byte {
	k := make([]byte, 0, timeSize+len(id))
	k = binary.BigEndian.AppendUint64(k, at)
	return append(k, id...)
}

// splitTimed is the inverse of timed. The id shares k's memory.
func splitTimed(k []byte) (at uint64, id []byte) {
	return binary.BigEndian.Uint64(k), k[timeSize:]
}

// owned starts the key of an entry that belongs to owner; owners hold no zero byte.
func owned(owner string, room int) []byte {
	k := make([]byte, 0, len(owner)+1+room)
	k = append(k, owner...)
	return append(k, 0)
}

// growerKey places a grower among an agent's, by short number.
func growerKey(agent string, short int, id string) []byte {
	k := owned(agent, 4+len(id))
	k = binary.BigEndian.AppendUint32(k, uint32(short)^1<<31)
	return append(k, id...)
}

// namedIn stands in place of an agent for the agents who are named in a district.
// No agent's id begins so.
func namedIn(district string) string { return "\x01" + district }

// namedKey places an agent among those who are named in a district; nil for one
// who is not.
func namedKey(p *session.Person) []byte {
	district, ok := p.NamedIn()
	if !ok {
		return nil
	}
	return growerKey(namedIn(district), 0, string(p.ID))
}

// filedKey places a check among a person's, by the time it was filed.
func filedKey(person string, at uint64, slip string) []byte {
	k := owned(person, timeSize+len(slip))
	k = binary.BigEndian.AppendUint64(k, at)
	return append(k, slip...)
}

// carrierKey finds a message by the carrier's own id.
func carrierKey(channel, id string) []byte {
	return append(owned(channel, len(id)), id...)
}

// The kinds of thing that expire.
const (
	dialogueExpiry  = 'd'
	duplicateExpiry = 'k'
	outgoingExpiry  = 'o'
	earlyExpiry     = 'r'
	inviteExpiry    = 'i'
)

// expiryKey is an entry of what to look at when its time has come.
func expiryKey(at uint64, kind byte, key []byte) []byte {
	k := make([]byte, 0, timeSize+1+len(key))
	k = binary.BigEndian.AppendUint64(k, at)
	k = append(k, kind)
	return append(k, key...)
}

package bolt

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"os"
	"sync/atomic"

	"go.etcd.io/bbolt"

	"threshline/session"
)

// A journal is a second, plain file of what must never be lost: every check
// and every person, in the order in which they were stored. It is synced after
// the store and before the reply, so that all that was answered is in both,
// and the journal never holds what the store refused. It may lie on another
// disk; [Rebuild] makes a store of it.
//
// The file begins with a line that says what it is and an id that the store
// knows. Records follow: length and CRC-32C of the body, each four bytes, big
// endian; then the body: its kind and what the kind holds.
type journal struct {
	path string
	file *os.File
	size int64 // of what is whole and synced
	// left is what a commit stored and the file does not hold yet, after a
	// failed write. It goes before anything else.
	left   batch
	behind atomic.Bool // left is not empty
	// people says where records of a person lie that are not forgotten.
	people map[session.PersonID][]span
	found  JournalState
}

const (
	journalTitle  = "threshline journal 1\n"
	journalIDSize = 16
	journalHead   = len(journalTitle) + journalIDSize
	recordHead    = 8
	// maxRecord is more than any record has, in bytes: a length beyond it is damage.
	maxRecord = 1 << 20
)

// The kinds of record.
const (
	checkRecord  = 'c' // position, version, check
	personRecord = 'p' // version, person
	erasedRecord = 'x' // of a person who was forgotten: zeros
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// span is where a record's body lies, in bytes from the file's beginning.
type span struct {
	at     int64
	length int
}

// batch is records on their way to the file.
type batch struct {
	bytes  []byte
	people []personRecordAt
}

type personRecordAt struct {
	id        session.PersonID
	in        span // at counts from the batch's beginning
	forgotten bool
}

// add appends a record whose body is the parts.
func (b *batch) add(kind byte, parts ...[]byte) (body span) {
	start := len(b.bytes)
	b.bytes = append(b.bytes, make([]byte, recordHead)...)
	b.bytes = append(b.bytes, kind)
	for _, p := range parts {
		b.bytes = append(b.bytes, p...)
	}
	sealRecord(b.bytes[start:])
	return span{int64(start + recordHead), len(b.bytes) - start - recordHead}
}

// sealRecord fills in the head of a record.
func sealRecord(record []byte) {
	body := record[recordHead:]
	binary.BigEndian.PutUint32(record, uint32(len(body)))
	binary.BigEndian.PutUint32(record[4:], crc32.Checksum(body, castagnoli))
}

func (b *batch) addCheck(position, value []byte) { b.add(checkRecord, position, value) }

func (b *batch) addPerson(id session.PersonID, forgotten bool, value []byte) {
	b.people = append(b.people, personRecordAt{id, b.add(personRecord, value), forgotten})
}

func (b *batch) reset() { b.bytes, b.people = b.bytes[:0], b.people[:0] }

// addExchange appends what an exchange has just stored.
func (b *batch) addExchange(x *exchange) {
	for i := range x.people {
		b.addPerson(x.people[i].new.ID, x.people[i].new.Forgotten, x.people[i].value)
	}
	for i := range x.checks {
		b.addCheck(x.checks[i].placed, x.checks[i].value)
	}
}

// late tells whether the journal lacks something that the store has.
func (j *journal) late() bool { return j != nil && j.behind.Load() }

// nothing is work that only waits until the journal holds what the store does.
type nothing struct{}

func (nothing) check(*bbolt.Tx) error { return nil }
func (nothing) write(*bbolt.Tx) error { return nil }

// catchUp writes what an earlier commit left over.
func (j *journal) catchUp() error {
	if !j.late() {
		return nil
	}
	return j.flush()
}

// keep writes what a commit stored; with an error it is kept for catchUp.
func (j *journal) keep(b *batch) error {
	if j == nil || len(b.bytes) == 0 {
		return nil
	}
	j.left.bytes = append(j.left.bytes[:0], b.bytes...)
	j.left.people = append(j.left.people[:0], b.people...)
	j.behind.Store(true)
	return j.flush()
}

// flush appends and syncs the batch that was left. What it could write only in
// part is cut off again, so that no half a record stands before the next try.
func (j *journal) flush() error {
	_, err := j.file.WriteAt(j.left.bytes, j.size)
	if err == nil {
		err = j.file.Sync()
	}
	if err != nil {
		return errors.Join(err, j.file.Truncate(j.size))
	}
	begin := j.size
	j.size += int64(len(j.left.bytes))
	for _, p := range j.left.people {
		p.in.at += begin
		if p.forgotten {
			err = errors.Join(err, j.erase(p.id))
			continue
		}
		j.people[p.id] = append(j.people[p.id], p.in)
	}
	j.left.reset()
	j.behind.Store(false)
	return err
}

// erase overwrites all that was kept of a person before they were forgotten.
// If it fails, or the power does, the next Open finds it still to do.
func (j *journal) erase(id session.PersonID) error {
	spans := j.people[id]
	if len(spans) == 0 {
		return nil
	}
	for _, s := range spans {
		record := append(bytes.Repeat([]byte{0}, recordHead), erasedRecord)
		record = append(record, make([]byte, s.length-1)...)
		sealRecord(record)
		if _, err := j.file.WriteAt(record, s.at-recordHead); err != nil {
			return err
		}
	}
	delete(j.people, id)
	return j.file.Sync()
}

func (j *journal) close() error {
	if j == nil {
		return nil
	}
	return j.file.Close()
}

// JournalState says what Open found of the journal and did about it.
type JournalState struct {
	Path string // empty: the store keeps no journal
	// Bytes it is long now.
	Bytes int64
	// Torn are bytes at the end that held no whole record, as after a power
	// cut: they were cut off. Damaged are records before the end that could not
	// be read: the journal was then written anew from the store.
	Torn    int64
	Damaged int
	// Added are the records that the store had and the journal had not.
	Added int
}

// Journal says what Open found of the journal.
func (s *Store) Journal() JournalState {
	if s.journal == nil {
		return JournalState{}
	}
	return s.journal.found
}

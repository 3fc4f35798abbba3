// Package journal keeps every check and every person a second time, in the
// order in which they were stored, in a plain file that a store can be made of.
package journal

import (
	"bytes"
	"crypto/rand"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"os"
	"sync/atomic"

	"threshline/session"
)

// Journal is open for writing. It is synced after the store and before the
// reply, so that all that was answered is in both, and the journal never holds
// what the store refused. It may lie on another disk.
//
// The file begins with a line that says what it is and an id that the store
// knows. Records follow: length and CRC-32C of the body, each four bytes, big
// endian; then the body: its kind and what the kind holds.
type Journal struct {
	// File is what it is written to. Tests put a full disk there.
	File *os.File
	path string
	size int64 // of what is whole and synced
	// left is what a commit stored but the file does not have yet, after a failed
	// write. It is written before anything else.
	left   Batch
	behind atomic.Bool // left is not empty
	// people says where the file has records of people who are not forgotten.
	people map[session.PersonID][]Span
	found  State
}

const (
	title = "threshline journal 1\n"
	// IDSize is the length of a journal's id, in bytes.
	IDSize       = 16
	headSize     = int64(len(title) + IDSize)
	recordHead   = 8
	positionSize = 8
	// maxRecord is more than any record has, in bytes: a length beyond it is damage.
	maxRecord = 1 << 20
)

// The kinds of record.
const (
	CheckRecord  = 'c' // position, version, check
	PersonRecord = 'p' // version, person
	erasedRecord = 'x' // of a person who was forgotten: zeros
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// Span is where a record's body lies, in bytes from the file's beginning.
type Span struct {
	At     int64
	Length int
}

// Batch is records on their way to the file.
type Batch struct {
	bytes  []byte
	people []personRecordAt
}

type personRecordAt struct {
	id        session.PersonID
	in        Span // at counts from the batch's beginning
	forgotten bool
}

// add appends a record whose body is the parts.
func (b *Batch) add(kind byte, parts ...[]byte) (body Span) {
	start := len(b.bytes)
	b.bytes = append(b.bytes, make([]byte, recordHead)...)
	b.bytes = append(b.bytes, kind)
	for _, p := range parts {
		b.bytes = append(b.bytes, p...)
	}
	sealRecord(b.bytes[start:])
	return Span{int64(start + recordHead), len(b.bytes) - start - recordHead}
}

// sealRecord fills in the head of a record.
func sealRecord(b []byte) {
	body := b[recordHead:]
	binary.BigEndian.PutUint32(b, uint32(len(body)))
	binary.BigEndian.PutUint32(b[4:], crc32.Checksum(body, castagnoli))
}

// AddCheck appends a check's position, and the check behind its version.
func (b *Batch) AddCheck(position, value []byte) { b.add(CheckRecord, position, value) }

// AddPerson appends a person behind their version.
func (b *Batch) AddPerson(id session.PersonID, forgotten bool, value []byte) {
	b.people = append(b.people, personRecordAt{id, b.add(PersonRecord, value), forgotten})
}

// Reset empties the batch.
func (b *Batch) Reset() { b.bytes, b.people = b.bytes[:0], b.people[:0] }

// Late reports whether something in the store is missing in the journal.
func (j *Journal) Late() bool { return j != nil && j.behind.Load() }

// CatchUp writes what an earlier commit left over.
func (j *Journal) CatchUp() error {
	if !j.Late() {
		return nil
	}
	return j.flush()
}

// Keep writes what a commit stored; with an error it is kept for CatchUp.
func (j *Journal) Keep(b *Batch) error {
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
func (j *Journal) flush() error {
	_, err := j.File.WriteAt(j.left.bytes, j.size)
	if err == nil {
		err = j.File.Sync()
	}
	if err != nil {
		return errors.Join(err, j.File.Truncate(j.size))
	}
	begin := j.size
	j.size += int64(len(j.left.bytes))
	for _, p := range j.left.people {
		p.in.At += begin
		if p.forgotten {
			err = errors.Join(err, j.erase(p.id))
			continue
		}
		j.people[p.id] = append(j.people[p.id], p.in)
	}
	j.left.Reset()
	j.behind.Store(false)
	return err
}

// erase overwrites all that was kept of a person before they were forgotten.
// If it fails, or the power does, the next Open finds it still to do.
func (j *Journal) erase(id session.PersonID) error {
	spans := j.people[id]
	if len(spans) == 0 {
		return nil
	}
	for _, s := range spans {
		erased := append(bytes.Repeat([]byte{0}, recordHead), erasedRecord)
		erased = append(erased, make([]byte, s.Length-1)...)
		sealRecord(erased)
		if _, err := j.File.WriteAt(erased, s.At-recordHead); err != nil {
			return err
		}
	}
	delete(j.people, id)
	return j.File.Sync()
}

// Close closes the file.
func (j *Journal) Close() error {
	if j == nil {
		return nil
	}
	return j.File.Close()
}

// State says what Open found of the journal and did about it.
type State struct {
	Path string // empty: the store keeps no journal
	// Bytes it is long now.
	Bytes int64
	// Torn are bytes at the end that held no whole record, as after a power
	// cut. Gaps are parts before the end that could not be read, and Anew says
	// that the journal was therefore written anew from the store. Kept are files
	// beside the journal with the bytes that could not be read.
	Torn int64
	Gaps []Gap
	Anew bool
	Kept []string
	// Added are the records that the store had and the journal had not.
	Added int
}

// State says what Open found.
func (j *Journal) State() State {
	if j == nil {
		return State{}
	}
	return j.found
}

// NewID makes an id for a store's journals.
func NewID() []byte {
	id := make([]byte, IDSize)
	rand.Read(id) // never fails
	return id
}

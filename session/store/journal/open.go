package journal

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/bits"
	"os"

	"threshline/session"
	"threshline/session/store/disk"
	"threshline/session/store/record"
)

// Why a journal and a store do not go together.
var (
	// ErrOther: the journal is another store's.
	ErrOther = errors.New("it is another store's")
	// ErrAhead: the journal has records that the store lacks. The store is an
	// older copy, and going on with it would lose them.
	ErrAhead = errors.New("it holds more than the store, which may be an older copy")
)

// Store is the store with which a journal is compared when it is opened. Values
// are as in a [Batch].
type Store interface {
	// Last is the last position that a check was given.
	Last() uint64
	// Version is the version of a person; 0 when there is no such person.
	Version(session.PersonID) uint64
	People(fn func(id session.PersonID, value []byte) error) error
	// Checks gives those whose position is above after, in order.
	Checks(after uint64, fn func(position, value []byte) error) error
}

// Open opens the journal with the id that the store knows, making it when
// there is none. It first holds journal and store against each other; then it
// adds what a crash kept out of the journal, and mends the journal from the
// store. Nothing that could not be read is lost: it is kept beside.
func Open(path string, id []byte, s Store) (*Journal, error) {
	var before State
	for {
		file, err := os.OpenFile(path, os.O_RDWR, disk.Mode)
		if errors.Is(err, fs.ErrNotExist) {
			if err = write(path, id, s); err == nil {
				continue
			}
		}
		if err != nil {
			return nil, err
		}
		j := &Journal{path: path, File: file, people: map[session.PersonID][]Span{}}
		anew, err := j.match(s, id)
		if err == nil && !anew {
			if before.Anew {
				before.Bytes = j.found.Bytes
				j.found = before
			}
			return j, nil
		}
		file.Close()
		if err != nil {
			return nil, err
		}
		// The store has all that the gaps held, so write the journal anew.
		if err := write(path, id, s); err != nil {
			return nil, err
		}
		before, before.Anew = j.found, true
	}
}

// write makes a whole journal from the store, and puts it in place.
func write(path string, id []byte, s Store) error {
	return disk.Replace(path, func(part string) error {
		if err := os.WriteFile(part, append([]byte(title), id...), disk.Mode); err != nil {
			return err
		}
		file, err := os.OpenFile(part, os.O_RDWR, disk.Mode)
		if err != nil {
			return err
		}
		defer file.Close()
		j := &Journal{path: part, File: file, size: headSize, people: map[session.PersonID][]Span{}}
		return errors.Join(j.addMissing(s, 0, map[session.PersonID]uint64{}), file.Sync())
	})
}

// match reads the journal through and brings it up to the store. anew says
// that it has to be written anew first.
func (j *Journal) match(s Store, id []byte) (anew bool, err error) {
	info, err := j.File.Stat()
	if err != nil {
		return false, err
	}
	r, have, err := Read(j.File, info.Size())
	if err != nil {
		return false, err
	}
	if have != nil && !SameID(have, id) {
		return false, ErrOther
	}
	last, versions := uint64(0), map[session.PersonID]uint64{}
	forgotten := map[session.PersonID]bool{}
	found, err := r.Each(func(kind byte, body []byte, in Span) error {
		if kind == CheckRecord {
			at, ok := positionOf(body)
			if last = max(last, at); !ok {
				return fmt.Errorf("%w: a check's record breaks off", record.ErrDamaged)
			}
			return nil
		}
		p, err := PersonOf(body)
		if versions[p.ID] = p.Version; p.Forgotten {
			forgotten[p.ID] = true
			return err
		}
		j.people[p.ID] = append(j.people[p.ID], in)
		return err
	})
	if err != nil {
		return false, err
	}
	j.found = State{Path: j.path, Torn: found.Torn, Gaps: found.Gaps}
	if ahead(s, last, versions) {
		return false, ErrAhead
	}
	if j.size = found.End; found.Torn > 0 {
		if err := j.keepBeside(Gap{found.End, found.Torn}); err != nil {
			return false, err
		}
		if err := errors.Join(j.File.Truncate(j.size), j.File.Sync()); err != nil {
			return false, err
		}
	}
	for _, gap := range found.Gaps {
		if err := j.keepBeside(gap); err != nil {
			return false, err
		}
	}
	if len(found.Gaps) > 0 || !bytes.Equal(have, id) {
		return true, nil
	}
	for id := range forgotten {
		if err := j.erase(id); err != nil {
			return false, err
		}
	}
	err = j.addMissing(s, last, versions)
	j.found.Bytes = j.size
	return false, err
}

// keepBeside copies a part that could not be read to a file of its own, named
// by where it lay, unless it is nothing but zeros.
func (j *Journal) keepBeside(g Gap) error {
	path := fmt.Sprintf("%s.unread-%d", j.path, g.At)
	part, err := io.ReadAll(io.NewSectionReader(j.File, g.At, g.Length))
	if err != nil || len(bytes.Trim(part, "\x00")) == 0 {
		return err
	}
	if err := os.WriteFile(path, part, disk.Mode); err != nil {
		return err
	}
	j.found.Kept = append(j.found.Kept, path)
	return nil
}

// mostFlipped is how many bits of an id may have been lost. Two that are nothing
// to do with each other differ in about 64 of 128.
const mostFlipped = 8

// SameID reports whether two ids are the same, except for a few bits that a
// disk lost.
func SameID(a, b []byte) bool {
	flipped := 0
	for i := range min(len(a), len(b)) {
		flipped += bits.OnesCount8(a[i] ^ b[i])
	}
	return len(a) == len(b) && flipped <= mostFlipped
}

// ahead reports whether a journal holds what the store does not.
func ahead(s Store, last uint64, versions map[session.PersonID]uint64) bool {
	more := last > s.Last()
	for id, version := range versions {
		more = more || version > s.Version(id)
	}
	return more
}

// addBatch bounds how many bytes are gathered before they are written.
const addBatch = 1 << 20

// addMissing appends the checks after a position, and the people of whom the
// journal has an older version or none.
func (j *Journal) addMissing(s Store, last uint64, versions map[session.PersonID]uint64) error {
	var b Batch
	write := func(atLeast int) error {
		if len(b.bytes) <= atLeast {
			return nil
		}
		err := j.Keep(&b)
		b.Reset()
		return err
	}
	err := s.People(func(id session.PersonID, value []byte) error {
		if versions[id] >= record.Version(value) {
			return nil
		}
		p, err := PersonOf(value)
		if err != nil {
			return err
		}
		b.AddPerson(p.ID, p.Forgotten, value)
		j.found.Added++
		return write(addBatch)
	})
	if err == nil {
		err = s.Checks(last, func(position, value []byte) error {
			b.AddCheck(position, value)
			j.found.Added++
			return write(addBatch)
		})
	}
	if err != nil {
		return err
	}
	return write(0)
}

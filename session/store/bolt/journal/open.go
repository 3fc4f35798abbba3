package journal

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"threshline/session"
	"threshline/session/store/bolt/disk"
	"threshline/session/store/record"
)

// Why a journal and a store do not go together.
var (
	// ErrOther: the journal is another store's.
	ErrOther = errors.New("it is another store's")
	// ErrAhead: the journal holds what the store does not: the store is an older
	// copy, and going on with it would lose what the journal has.
	ErrAhead = errors.New("it holds more than the store, which may be an older copy")
)

// Store is what a journal is held against when it is opened. Values are as in
// a [Batch].
type Store interface {
	// Last is the last position that a check was given.
	Last() uint64
	// Version is that of a person; 0 when there is none such.
	Version(session.PersonID) uint64
	People(fn func(id session.PersonID, value []byte) error) error
	// Checks gives those whose position is above after, in order.
	Checks(after uint64, fn func(position, value []byte) error) error
}

// Open opens the journal with the id that the store knows, making it when
// there is none, cuts off a torn end, and adds what a crash kept out of it.
func Open(path string, id []byte, s Store) (*Journal, error) {
	for damaged := 0; ; {
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
		again, err := j.match(s, id)
		damaged += j.found.Damaged
		if err == nil && !again {
			j.found.Damaged = damaged
			return j, nil
		}
		file.Close()
		if err != nil {
			return nil, err
		}
		// Damage before the end: the store has it all, so write it anew.
		if err := write(path, id, s); err != nil {
			return nil, err
		}
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
		j := &Journal{path: part, File: file, size: int64(headSize), people: map[session.PersonID][]Span{}}
		return errors.Join(j.addMissing(s, 0, map[session.PersonID]uint64{}), file.Sync())
	})
}

// match reads the journal through and brings it up to the store. again says
// that it has to be written anew first.
func (j *Journal) match(s Store, id []byte) (again bool, err error) {
	info, err := j.File.Stat()
	if err != nil {
		return false, err
	}
	r, have, err := Read(j.File, info.Size())
	if err != nil {
		return false, err
	}
	if !bytes.Equal(have, id) {
		return false, ErrOther
	}
	last, versions := uint64(0), map[session.PersonID]uint64{}
	forgotten := map[session.PersonID]bool{}
	found, err := r.Each(func(kind byte, body []byte, in Span) error {
		if kind == CheckRecord {
			if len(body) < positionSize {
				return fmt.Errorf("%w: a check's record breaks off", record.ErrDamaged)
			}
			last = max(last, binary.BigEndian.Uint64(body))
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
	j.found = State{Path: j.path, Torn: found.Torn, Damaged: found.Damaged}
	if j.size = found.End; found.Torn > 0 {
		if err := errors.Join(j.File.Truncate(j.size), j.File.Sync()); err != nil {
			return false, err
		}
	}
	if found.Damaged > 0 {
		return true, nil
	}
	for id := range forgotten {
		if err := j.erase(id); err != nil {
			return false, err
		}
	}
	if ahead(s, last, versions) {
		return false, ErrAhead
	}
	err = j.addMissing(s, last, versions)
	j.found.Bytes = j.size
	return false, err
}

// ahead tells whether a journal holds what the store does not.
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

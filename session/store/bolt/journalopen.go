package bolt

import (
	"bytes"
	"crypto/rand"
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"go.etcd.io/bbolt"

	"threshline/session"
)

// journalKey is where the store keeps the id of its journal.
var journalKey = []byte("journal")

// ErrJournal: the journal and the store do not belong together, or the
// journal holds more than the store.
var ErrJournal = errors.New("journal does not match the store")

// openJournal opens the store's journal, making it when there is none, cuts
// off a torn end, and adds what a crash kept out of it.
func openJournal(db *bbolt.DB, path string) (*journal, error) {
	id, err := journalID(db)
	if err != nil {
		return nil, err
	}
	if id == nil {
		if id, err = adopt(db, path); err != nil {
			return nil, err
		}
	}
	for damaged := 0; ; {
		file, err := os.OpenFile(path, os.O_RDWR, fileMode)
		if errors.Is(err, fs.ErrNotExist) {
			if err = writeJournal(db, path, id); err == nil {
				continue
			}
		}
		if err != nil {
			return nil, err
		}
		j := &journal{path: path, file: file, people: map[session.PersonID][]span{}}
		again, err := j.match(db, id)
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
		if err := writeJournal(db, path, id); err != nil {
			return nil, err
		}
	}
}

// journalID is the id of the journal that the store knows; nil when none.
func journalID(db *bbolt.DB) (id []byte, err error) {
	err = db.View(func(tx *bbolt.Tx) error {
		id = bytes.Clone(tx.Bucket(aboutBucket).Get(journalKey))
		return nil
	})
	return id, err
}

// adopt gives the store an id for its first journal. A file that is there
// already is another store's, or this store was lost and made anew.
func adopt(db *bbolt.DB, path string) ([]byte, error) {
	if info, err := os.Stat(path); err == nil && info.Size() > 0 {
		return nil, fault(path, ErrJournal, errors.New("the store knows of no journal"),
			"if the store was lost, rebuild it: threshline restore --from-journal; else choose another journal file")
	}
	id := make([]byte, journalIDSize)
	if _, err := rand.Read(id); err != nil {
		return nil, err
	}
	return id, setJournalID(db, id)
}

func setJournalID(db *bbolt.DB, id []byte) error {
	return db.Update(func(tx *bbolt.Tx) error { return tx.Bucket(aboutBucket).Put(journalKey, id) })
}

// writeJournal makes a whole journal from the store, and puts it in place.
func writeJournal(db *bbolt.DB, path string, id []byte) error {
	return replace(path, func(part string) error {
		if err := os.WriteFile(part, append([]byte(journalTitle), id...), fileMode); err != nil {
			return err
		}
		file, err := os.OpenFile(part, os.O_RDWR, fileMode)
		if err != nil {
			return err
		}
		defer file.Close()
		j := &journal{path: part, file: file, size: int64(journalHead), people: map[session.PersonID][]span{}}
		return errors.Join(j.addMissing(db, 0, map[session.PersonID]uint64{}), file.Sync())
	})
}

// match reads the journal through and brings it up to the store. again says
// that it has to be written anew first.
func (j *journal) match(db *bbolt.DB, id []byte) (again bool, err error) {
	info, err := j.file.Stat()
	if err != nil {
		return false, err
	}
	r, have, err := readJournal(j.file, info.Size())
	if err != nil {
		return false, fault(j.path, ErrForeign, err, "choose another file for the journal")
	}
	if !bytes.Equal(have, id) {
		return false, fault(j.path, ErrJournal, errors.New("it is another store's"), "choose another file for the journal")
	}
	last, versions := uint64(0), map[session.PersonID]uint64{}
	forgotten := map[session.PersonID]bool{}
	found, err := r.each(func(kind byte, body []byte, in span) error {
		if kind == checkRecord {
			if len(body) < 8 {
				return fmt.Errorf("%w: a check's record breaks off", ErrDamaged)
			}
			last = max(last, binary.BigEndian.Uint64(body))
			return nil
		}
		p, err := personOf(body)
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
	j.found = JournalState{Path: j.path, Torn: found.Torn, Damaged: found.Damaged}
	if j.size = found.end; found.Torn > 0 {
		if err := errors.Join(j.file.Truncate(j.size), j.file.Sync()); err != nil {
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
	if err := j.ahead(db, last, versions); err != nil {
		return false, err
	}
	err = j.addMissing(db, last, versions)
	j.found.Bytes = j.size
	return false, err
}

// ahead refuses a journal that holds what the store does not: the store is an
// older copy, and going on with it would lose what the journal has.
func (j *journal) ahead(db *bbolt.DB, last uint64, versions map[session.PersonID]uint64) error {
	return db.View(func(tx *bbolt.Tx) error {
		more := last > tx.Bucket(checkBucket).Sequence()
		people := tx.Bucket(personBucket)
		for id, version := range versions {
			more = more || version > versionOf(people.Get([]byte(id)))
		}
		if !more {
			return nil
		}
		return fault(j.path, ErrJournal, errors.New("it holds more than the store, which may be an older copy"),
			"rebuild the store with threshline restore --from-journal, or move the journal away to go on without what only it has")
	})
}

// addBatch bounds how many bytes are gathered before they are written.
const addBatch = 1 << 20

// addMissing appends the checks after a position, and the people of whom the
// journal has an older version or none.
func (j *journal) addMissing(db *bbolt.DB, last uint64, versions map[session.PersonID]uint64) error {
	var b batch
	write := func(atLeast int) error {
		if len(b.bytes) <= atLeast {
			return nil
		}
		err := j.keep(&b)
		b.reset()
		return err
	}
	return db.View(func(tx *bbolt.Tx) error {
		people := tx.Bucket(personBucket).Cursor()
		for id, v := people.First(); id != nil; id, v = people.Next() {
			if versions[session.PersonID(id)] >= versionOf(v) {
				continue
			}
			p, err := personOf(v)
			if err != nil {
				return err
			}
			b.addPerson(p.ID, p.Forgotten, v)
			j.found.Added++
			if err := write(addBatch); err != nil {
				return err
			}
		}
		checks := tx.Bucket(checkBucket).Cursor()
		for k, v := seekAfter(checks, number(last)); k != nil; k, v = checks.Next() {
			b.addCheck(k, v)
			j.found.Added++
			if err := write(addBatch); err != nil {
				return err
			}
		}
		return write(0)
	})
}

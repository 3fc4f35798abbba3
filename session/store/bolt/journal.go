package bolt

import (
	"bytes"
	"errors"
	"os"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/journal"
	"threshline/session/store/record"
)

// journalKey is where the store keeps the id of its journal.
var journalKey = []byte("journal")

// ErrJournal: the journal and the store do not belong together, or the
// journal holds more than the store.
var ErrJournal = errors.New("journal does not match the store")

// openJournal opens the store's journal, and makes it when there is none.
func openJournal(db *bbolt.DB, path string) (j *journal.Journal, err error) {
	defer recoverDamage(db.Path(), &err)
	id, err := journalID(db)
	if err != nil {
		return nil, err
	}
	if id == nil {
		if id, err = adopt(db, path); err != nil {
			return nil, err
		}
	}
	err = db.View(func(tx *bbolt.Tx) error {
		j, err = journal.Open(path, id, journalled{tx})
		return err
	})
	return j, journalFault(path, err)
}

// journalFault says what to do about a journal that cannot be opened.
func journalFault(path string, err error) error {
	switch {
	case errors.Is(err, journal.ErrForeign):
		return fault(path, ErrForeign, err, "choose another file for the journal")
	case errors.Is(err, journal.ErrOther):
		return fault(path, ErrJournal, err, "choose another file for the journal")
	case errors.Is(err, journal.ErrAhead):
		return fault(path, ErrJournal, err,
			"rebuild the store with threshline restore --from-journal, or move the journal away to go on without what only it has")
	}
	return err
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
	id := journal.NewID()
	return id, setJournalID(db, id)
}

func setJournalID(db *bbolt.DB, id []byte) error {
	return db.Update(func(tx *bbolt.Tx) error { return tx.Bucket(aboutBucket).Put(journalKey, id) })
}

// addExchange appends what an exchange has just stored.
func addExchange(b *journal.Batch, x *exchange) {
	for i := range x.people {
		b.AddPerson(x.people[i].new.ID, x.people[i].new.Forgotten, x.people[i].value)
	}
	for i := range x.checks {
		b.AddCheck(x.checks[i].placed, x.checks[i].value)
	}
}

// nothing is work that only waits until the journal holds what the store does.
type nothing struct{}

func (nothing) check(*bbolt.Tx) error { return nil }
func (nothing) write(*bbolt.Tx) error { return nil }

// journalled is a store as its journal is held against it.
type journalled struct{ tx *bbolt.Tx }

func (s journalled) Last() uint64 { return in(s.tx, checkBucket).Sequence() }

func (s journalled) Version(id session.PersonID) uint64 {
	return record.Version(in(s.tx, personBucket).Get([]byte(id)))
}

func (s journalled) People(fn func(id session.PersonID, value []byte) error) error {
	return in(s.tx, personBucket).ForEach(func(id, v []byte) error { return fn(session.PersonID(id), v) })
}

func (s journalled) Checks(after uint64, fn func(position, value []byte) error) error {
	c := in(s.tx, checkBucket).Cursor()
	for k, v := seekAfter(c, number(after)); k != nil; k, v = c.Next() {
		if err := fn(k, v); err != nil {
			return err
		}
	}
	return nil
}

// Journal says what Open found of the journal.
func (s *Store) Journal() journal.State { return s.journal.State() }

package bolt

import (
	"encoding/binary"
	"errors"
	"fmt"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/record"
)

// Schema is the version of the layout that this program reads and writes.
// New fields of a record need no new version; new or changed buckets do.
const Schema = 3

var (
	programKey = []byte("program")
	schemaKey  = []byte("schema")
	program    = []byte("threshline")
)

// migrations[i] brings schema i+1 to i+2, in the one transaction that Open
// runs them all in. A file of every version is kept with the tests.
var migrations = []func(*bbolt.Tx) error{addAccounts, moveAnswers}

// addAccounts makes room for those who use the desk.
func addAccounts(tx *bbolt.Tx) error {
	_, err := tx.CreateBucketIfNotExists(accountBucket)
	return err
}

// moveAnswers changes nothing: answers now lie behind their dialogue at first,
// where an older program would not look for them. Those that are there already
// stay where they are, until they are over.
func moveAnswers(*bbolt.Tx) error { return nil }

// initialise lays out an empty store of the present schema.
func initialise(tx *bbolt.Tx) error {
	for _, name := range buckets {
		if _, err := tx.CreateBucketIfNotExists(name); err != nil {
			return err
		}
	}
	if err := indexHeads(tx); err != nil {
		return err
	}
	about := tx.Bucket(aboutBucket)
	if err := about.Put(programKey, program); err != nil {
		return err
	}
	return about.Put(schemaKey, number(Schema))
}

// bringUpToDate migrates a file, and writes nothing to one that is up to date.
func bringUpToDate(db *bbolt.DB, path string) (err error) {
	defer recoverDamage(path, &err)
	defer faultsPanic()()
	due := true
	err = db.View(func(tx *bbolt.Tx) error {
		version, err := schemaOf(tx)
		due = err != nil || version != Schema || tx.Bucket(headBucket) == nil
		return nil // migrate says what is wrong
	})
	if err != nil || !due {
		return err
	}
	return db.Update(func(tx *bbolt.Tx) error { return migrate(tx, path, migrations) })
}

// migrate brings the file up to date, step by step.
func migrate(tx *bbolt.Tx, path string, steps []func(*bbolt.Tx) error) error {
	version, err := schemaOf(tx)
	if err != nil {
		return fault(path, ErrForeign, err, "check the path: this file belongs to another program")
	}
	newest := uint64(len(steps) + 1)
	if version > newest {
		return fault(path, ErrNewer, fmt.Errorf("schema %d, this program knows %d", version, newest),
			"run the newer program again, or restore a backup made by this one")
	}
	for ; version < newest; version++ {
		if err := steps[version-1](tx); err != nil {
			return fmt.Errorf("from schema %d to %d: %w", version, version+1, err)
		}
		if err := tx.Bucket(aboutBucket).Put(schemaKey, number(version+1)); err != nil {
			return err
		}
	}
	return indexHeads(tx)
}

// indexHeads makes the list of coordinators where a file has none: it was
// written before there was one. Nothing else of the layout depends on it, so
// that the schema stays.
func indexHeads(tx *bbolt.Tx) error {
	if tx.Bucket(headBucket) != nil {
		return nil
	}
	heads, err := tx.CreateBucket(headBucket)
	if err != nil {
		return err
	}
	return tx.Bucket(personBucket).ForEach(func(id, v []byte) error {
		var p session.Person
		if _, err := record.Versioned(v, &p, record.Person); err != nil || p.Role != session.Coordinator {
			return err
		}
		return heads.Put(id, nil)
	})
}

// schemaOf reads the schema version of a file.
func schemaOf(tx *bbolt.Tx) (uint64, error) {
	about := tx.Bucket(aboutBucket)
	if about == nil || string(about.Get(programKey)) != string(program) {
		return 0, errors.New("it does not say what it is")
	}
	v := about.Get(schemaKey)
	if len(v) != 8 || binary.BigEndian.Uint64(v) == 0 {
		return 0, errors.New("it has no schema version")
	}
	return binary.BigEndian.Uint64(v), nil
}

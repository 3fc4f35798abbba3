package bolt

import (
	"bytes"
	"crypto/rand"
	"encoding/binary"
	"errors"
	"fmt"

	"threshline/session/store/record"

	"go.etcd.io/bbolt"
)

// Schema is the version of the layout that this program reads and writes.
// New fields of a record need no new version; new or changed buckets do.
const Schema = 4

var (
	programKey = []byte("program")
	schemaKey  = []byte("schema")
	secretKey  = []byte("secret")
	stampKey   = []byte("committed")
	program    = []byte("threshline")
)

// inPlace is the first schema that is changed in place to a later one. Files of
// older schemas are copied, see convert.
const inPlace = 4

// migrations[i] brings schema inPlace+i to the next, in the one transaction that
// Open runs them all in. A file of every version is kept with the tests.
var migrations []func(*bbolt.Tx) error

// initialise lays out an empty store of the present schema.
func initialise(tx *bbolt.Tx) error {
	for _, name := range buckets {
		if _, err := tx.CreateBucketIfNotExists(name); err != nil {
			return err
		}
	}
	about := tx.Bucket(aboutBucket)
	key := make([]byte, secretSize)
	rand.Read(key) // never fails
	return errors.Join(about.Put(programKey, program), about.Put(schemaKey, number(Schema)), about.Put(secretKey, key))
}

// secretSize is the length of a store's secret, in bytes.
const secretSize = 32

// secretOf reads a store's secret.
func secretOf(tx *bbolt.Tx) (record.Secret, error) {
	key := tx.Bucket(aboutBucket).Get(secretKey)
	if len(key) != secretSize {
		return nil, fmt.Errorf("%w: its secret is missing", ErrDamaged)
	}
	return record.Secret(bytes.Clone(key)), nil
}

// bringUpToDate migrates a file, and writes nothing to one that is up to date.
func bringUpToDate(db *bbolt.DB, path string) (key record.Secret, err error) {
	defer recoverDamage(path, &err)
	defer faultsPanic()()
	due := true
	err = db.View(func(tx *bbolt.Tx) error {
		version, err := schemaOf(tx)
		due = err != nil || version != Schema
		return nil // migrate says what is wrong
	})
	if err == nil && due {
		err = db.Update(func(tx *bbolt.Tx) error { return migrate(tx, path, migrations) })
	}
	if err != nil {
		return nil, err
	}
	err = db.View(func(tx *bbolt.Tx) error {
		key, err = secretOf(tx)
		return errors.Join(err, outline(tx))
	})
	return key, err
}

// outline finds a bucket that is missing, or whose counter is too low: its next
// number would overwrite an entry.
func outline(tx *bbolt.Tx) error {
	for _, name := range buckets {
		if tx.Bucket(name) == nil {
			return fmt.Errorf("%w: %q is missing", ErrDamaged, name)
		}
	}
	for _, name := range [][]byte{checkBucket, noteBucket} {
		b := tx.Bucket(name)
		if k, _ := b.Cursor().Last(); k != nil && binary.BigEndian.Uint64(k) > b.Sequence() {
			return fmt.Errorf("%w: %q counts %d and holds more", ErrDamaged, name, b.Sequence())
		}
	}
	return nil
}

// migrate brings the file up to date, step by step.
func migrate(tx *bbolt.Tx, path string, steps []func(*bbolt.Tx) error) error {
	version, err := schemaOf(tx)
	if err != nil {
		return fault(path, ErrForeign, err, "check the path: this file belongs to another program")
	}
	newest := uint64(len(steps) + inPlace)
	if version > newest {
		return later(path, version, newest)
	}
	for ; version < newest; version++ {
		if err := steps[version-inPlace](tx); err != nil {
			return fmt.Errorf("from schema %d to %d: %w", version, version+1, err)
		}
		if err := tx.Bucket(aboutBucket).Put(schemaKey, number(version+1)); err != nil {
			return err
		}
	}
	return nil
}

// later is the fault of a file whose schema a later program made.
func later(path string, version, newest uint64) *Fault {
	return fault(path, ErrNewer, fmt.Errorf("schema %d, this program knows %d", version, newest),
		"run the newer program again, or restore a backup made by this one")
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

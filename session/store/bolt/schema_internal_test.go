package bolt

import (
	"errors"
	"path/filepath"
	"testing"

	"go.etcd.io/bbolt"

	"threshline/session/store/disk"
)

// TestMigrate takes a file of the first schema that is changed in place through steps that a later
// version might have.
func TestMigrate(t *testing.T) {
	path := filepath.Join(t.TempDir(), "store.db")
	if err := makeNew(path); err != nil {
		t.Fatal(err)
	}
	db, err := bbolt.Open(path, disk.Mode, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	first := func(tx *bbolt.Tx) error { return tx.Bucket(aboutBucket).Put(schemaKey, number(inPlace)) }
	if err := db.Update(first); err != nil {
		t.Fatal(err)
	}
	version := func() (v uint64) {
		if err := db.View(func(tx *bbolt.Tx) (err error) { v, err = schemaOf(tx); return err }); err != nil {
			t.Fatal(err)
		}
		return v
	}
	ran := ""
	broken := errors.New("broken step")
	step := func(name string, err error) func(*bbolt.Tx) error {
		return func(tx *bbolt.Tx) error {
			ran += name
			if _, made := tx.CreateBucket([]byte("new " + name)); made != nil {
				return made
			}
			return err
		}
	}
	run := func(steps ...func(*bbolt.Tx) error) error {
		return db.Update(func(tx *bbolt.Tx) error { return migrate(tx, path, steps) })
	}
	if err := run(); err != nil || version() != inPlace {
		t.Errorf("nothing to do: %v, schema %d", err, version())
	}
	if err := run(step("a", nil), step("b", broken)); !errors.Is(err, broken) || version() != inPlace {
		t.Errorf("a broken step: %v, schema %d, want the first as it was", err, version())
	}
	ran = ""
	if err := run(step("a", nil), step("b", nil)); err != nil || version() != inPlace+2 || ran != "ab" {
		t.Errorf("two steps: %v, schema %d, ran %q", err, version(), ran)
	}
	if err := run(step("a", nil), step("b", nil), step("c", nil)); err != nil || version() != inPlace+3 || ran != "abc" {
		t.Errorf("one step more: %v, schema %d, ran %q", err, version(), ran)
	}
	if err := run(); !errors.Is(err, ErrNewer) {
		t.Errorf("a program that knows less: %v, want %v", err, ErrNewer)
	}
}

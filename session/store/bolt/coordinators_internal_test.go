package bolt

import (
	"context"
	"errors"
	"path/filepath"
	"testing"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/disk"
)

// asSchema3 takes the check sums out of a store at rest, and what else came with
// them or only later.
func asSchema3(t *testing.T, path string) {
	t.Helper()
	from, err := bbolt.Open(path, disk.Mode, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer from.Close()
	err = disk.Replace(path, func(part string) error {
		to, err := bbolt.Open(part, disk.Mode, nil)
		if err != nil {
			return err
		}
		return errors.Join(from.View(func(tx *bbolt.Tx) error {
			return copyAll(tx, to, func(bucket, k, v []byte) (key, value []byte, err error) {
				switch {
				case string(bucket) == string(headBucket) || string(k) == string(secretKey):
					return nil, nil, nil
				case string(k) == string(schemaKey):
					return k, number(3), nil
				case string(bucket) != string(aboutBucket):
					v = unsealed(bucket, k, v)
				}
				return k, v, nil
			}, nil)
		}), to.Update(func(tx *bbolt.Tx) error { return tx.DeleteBucket(headBucket) }), to.Close())
	})
	if err != nil {
		t.Fatal(err)
	}
}

// TestCoordinatorsOfAFileThatDidNotListThem takes the list away, as in a file
// that was written before there was one.
func TestCoordinatorsOfAFileThatDidNotListThem(t *testing.T) {
	path := filepath.Join(t.TempDir(), "store.db")
	s, err := Open(path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	people := []session.Person{
		{ID: "a", Role: session.Agent}, {ID: "b", Role: session.Coordinator}, {ID: "c", Role: session.Grower}, {ID: "d", Role: session.Coordinator},
	}
	ctx := context.Background()
	if _, err := s.Exchange(ctx, session.Key{}, func(session.View) (session.Writes, error) { return session.Writes{People: people}, nil }); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	asSchema3(t, path)
	if err := VerifyFile(ctx, path); err != nil {
		t.Errorf("a file without the list: %v", err)
	}
	if s, err = Open(path, Options{}); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	err = s.Read(ctx, func(v session.View) error {
		list, err := v.Coordinators()
		if len(list) != 2 || list[0].ID != "b" || list[1].ID != "d" {
			t.Errorf("coordinators are %+v", list)
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
	if err := s.Verify(ctx); err != nil {
		t.Error(err)
	}
	if err := s.db.Update(func(tx *bbolt.Tx) error { return tx.Bucket(headBucket).Delete([]byte("b")) }); err != nil {
		t.Fatal(err)
	}
	if s.Verify(ctx) == nil {
		t.Error("a coordinator who is not listed is not found")
	}
}

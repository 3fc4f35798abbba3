package bolt

import (
	"context"
	"path/filepath"
	"testing"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/bolt/disk"
)

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
	db, err := bbolt.Open(path, disk.Mode, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Update(func(tx *bbolt.Tx) error { return tx.DeleteBucket(headBucket) }); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
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

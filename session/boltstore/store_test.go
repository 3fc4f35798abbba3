package boltstore_test

import (
	"path/filepath"
	"testing"

	"threshline/session/boltstore"
	"threshline/session/storetest"
)

// opened is a store that can be reopened, for the suite.
type opened struct {
	*boltstore.Store
}

func open(t testing.TB, path string) *boltstore.Store {
	t.Helper()
	s, err := boltstore.Open(path, boltstore.Options{KeepSent: storetest.KeepSent})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func (o opened) Reopen(t *testing.T) storetest.Reopener {
	t.Helper()
	if err := o.Close(); err != nil {
		t.Fatal(err)
	}
	return opened{open(t, o.Path())}
}

func TestStore(t *testing.T) {
	storetest.Run(t, func(t *testing.T) storetest.Engine {
		return opened{open(t, filepath.Join(t.TempDir(), "store.db"))}
	})
}

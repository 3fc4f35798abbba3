package bolt_test

import (
	"context"
	"errors"
	"path/filepath"
	"testing"

	"threshline/session/store/bolt"
	"threshline/session/store/storetest"
)

// opened is a store that can be reopened, for the suite.
type opened struct {
	*bolt.Store
}

func open(t testing.TB, path string) *bolt.Store {
	t.Helper()
	s, err := bolt.Open(path, bolt.Options{KeepSent: storetest.KeepSent})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
		if err := bolt.VerifyFile(context.Background(), path); err != nil && !errors.Is(err, bolt.ErrLocked) {
			t.Errorf("the file left behind: %v", err)
		}
	})
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

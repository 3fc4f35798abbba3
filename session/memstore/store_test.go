package memstore_test

import (
	"testing"

	"threshline/session/memstore"
	"threshline/session/storetest"
)

func TestStore(t *testing.T) {
	storetest.Run(t, func(*testing.T) storetest.Engine {
		return memstore.New(memstore.Options{KeepSent: storetest.KeepSent})
	})
}

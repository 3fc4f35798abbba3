package mem_test

import (
	"testing"

	"threshline/session/store/mem"
	"threshline/session/store/storetest"
)

func TestStore(t *testing.T) {
	storetest.Run(t, func(*testing.T) storetest.Engine {
		return mem.New(mem.Options{KeepSent: storetest.KeepSent})
	})
}

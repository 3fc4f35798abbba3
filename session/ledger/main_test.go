package ledger_test

import (
	"os"
	"runtime/debug"
	"testing"
)

// The tests make much garbage and hold little: to collect seldom saves a sixth of
// their time.
func TestMain(m *testing.M) {
	debug.SetGCPercent(400)
	os.Exit(m.Run())
}
